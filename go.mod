module fairset

go 1.26
