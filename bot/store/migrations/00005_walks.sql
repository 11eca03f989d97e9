-- Where each weaver is in her plan; see 00001 for the rules.

-- +goose Up

CREATE TABLE walks (
    person TEXT PRIMARY KEY REFERENCES persons (id) ON DELETE CASCADE,
    walk   TEXT NOT NULL -- JSON
);
