-- What a chat's adapter keeps from one run to the next, and which message a sent
-- post became; see 00001 for the rules.

-- +goose Up

CREATE TABLE notes (
    chat   TEXT   NOT NULL,
    name   TEXT   NOT NULL,
    userid TEXT   NOT NULL, -- whom it is about, '' for nobody
    value  TEXT   NOT NULL,
    until  BIGINT NOT NULL, -- when it may be pruned, 0 for never
    PRIMARY KEY (chat, name)
);
CREATE INDEX notes_user ON notes (chat, userid) WHERE userid <> '';
CREATE INDEX notes_until ON notes (until) WHERE until > 0;

ALTER TABLE outbox ADD COLUMN message TEXT NOT NULL DEFAULT '';
CREATE INDEX outbox_shown ON outbox (session, sent_at) WHERE message <> '';
