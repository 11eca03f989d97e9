-- Designs made of holes; see 00001 for the rules.

-- +goose Up

CREATE TABLE designs (
    id      TEXT   NOT NULL PRIMARY KEY,
    owner   TEXT   NOT NULL, -- '' once she was forgotten
    class   TEXT   NOT NULL, -- that it is shared with
    name    TEXT   NOT NULL,
    folded  TEXT   NOT NULL, -- the name as names are compared
    asked   TEXT   NOT NULL,
    picture TEXT   NOT NULL, -- base64
    made    BIGINT NOT NULL
);
CREATE UNIQUE INDEX designs_owner ON designs (owner, folded) WHERE owner <> '';
CREATE UNIQUE INDEX designs_class ON designs (class, folded) WHERE class <> '';
