CREATE TABLE climate (
    at               INTEGER NOT NULL, -- seconds since 1970, UTC
    place            TEXT NOT NULL,
    temperature_c    REAL NOT NULL,
    humidity_percent REAL NOT NULL CHECK (humidity_percent BETWEEN 0 AND 100),
    PRIMARY KEY (at, place)
) STRICT, WITHOUT ROWID;
