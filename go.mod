module weftroom

go 1.26.0

require (
	github.com/alecthomas/kong v1.17.0
	github.com/google/go-cmp v0.7.0
	pgregory.net/rapid v1.3.0
)
