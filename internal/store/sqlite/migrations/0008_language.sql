-- The language of the pages for whoever has not chosen one; nothing for the one each browser asks for.
ALTER TABLE shop ADD COLUMN language TEXT;
