-- What links need besides; see 00001 for the rules.

-- +goose Up

-- Offers live for ten minutes, so those on their way may be made again.
DROP TABLE links;
CREATE TABLE links (
    code      TEXT   NOT NULL PRIMARY KEY,
    from_chat TEXT   NOT NULL,
    from_user TEXT   NOT NULL,
    to_chat   TEXT   NOT NULL,
    to_user   TEXT   NOT NULL,
    expires   BIGINT NOT NULL,
    tries     BIGINT NOT NULL,
    from_saw  BIGINT NOT NULL,
    from_yes  BIGINT NOT NULL,
    to_yes    BIGINT NOT NULL
);
CREATE INDEX links_from ON links (from_chat, from_user);
CREATE INDEX links_to ON links (to_chat, to_user);

ALTER TABLE settled RENAME TO settled_before;
CREATE TABLE settled (
    chat   TEXT   NOT NULL,
    userid TEXT   NOT NULL,
    person TEXT   NOT NULL REFERENCES persons (id) ON DELETE CASCADE,
    was    TEXT   NOT NULL,
    at     BIGINT NOT NULL,
    filled TEXT   NOT NULL, -- names of settings, between blanks
    PRIMARY KEY (chat, userid)
);
INSERT INTO settled (chat, userid, person, was, at, filled) SELECT chat, userid, person, was, at, '' FROM settled_before;
DROP TABLE settled_before;
CREATE INDEX settled_person ON settled (person);

-- Wrong codes that were given.
CREATE TABLE guesses (
    id     TEXT   NOT NULL PRIMARY KEY,
    chat   TEXT   NOT NULL,
    userid TEXT   NOT NULL,
    at     BIGINT NOT NULL
);
CREATE INDEX guesses_by ON guesses (chat, userid, at);
CREATE INDEX guesses_at ON guesses (at);

-- The most that one account of a person may do in a class.
CREATE TABLE account_limits (
    chat   TEXT   NOT NULL,
    userid TEXT   NOT NULL,
    class  TEXT   NOT NULL REFERENCES classes (id) ON DELETE CASCADE,
    role   BIGINT NOT NULL,
    at     BIGINT NOT NULL,
    PRIMARY KEY (chat, userid, class),
    FOREIGN KEY (chat, userid) REFERENCES accounts (chat, userid) ON DELETE CASCADE
);
