module weftroom

go 1.26
