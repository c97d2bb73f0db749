module fairset

go 1.26

require (
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3 // indirect
	golang.org/x/text v0.14.0 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)
