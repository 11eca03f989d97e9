-- Posts that fall due, and which process writes to which chat. One text for
-- SQLite and PostgreSQL; see 00001 for its rules.

-- +goose Up

CREATE TABLE outbox (
    id          BIGINT NOT NULL PRIMARY KEY, -- rises with adding, chosen by us
    dedupe_key  TEXT   NOT NULL UNIQUE,
    chat        TEXT   NOT NULL,
    room        TEXT   NOT NULL, -- '@' and the user for a person alone
    class       TEXT   NOT NULL,
    session     TEXT   NOT NULL,
    person      TEXT   NOT NULL,
    kind        TEXT   NOT NULL,
    payload     TEXT   NOT NULL, -- JSON
    due_at      BIGINT NOT NULL, -- the place in the room's order
    next_at     BIGINT NOT NULL, -- when it is tried; never after expires_at
    expires_at  BIGINT NOT NULL,
    state       TEXT   NOT NULL, -- queued, sending, sent, dead, cancelled
    attempts    BIGINT NOT NULL,
    lease_owner TEXT   NOT NULL,
    lease_until BIGINT NOT NULL,
    sent_at     BIGINT NOT NULL,
    last_error  TEXT   NOT NULL
);
CREATE INDEX outbox_next ON outbox (next_at, id) WHERE state = 'queued';
CREATE INDEX outbox_room ON outbox (chat, room, due_at, id) WHERE state = 'queued';
CREATE INDEX outbox_expiry ON outbox (expires_at) WHERE state = 'queued';

-- One sender per room.
CREATE UNIQUE INDEX outbox_sending ON outbox (chat, room) WHERE state = 'sending';

CREATE INDEX outbox_dead ON outbox (due_at) WHERE state = 'dead';
CREATE INDEX outbox_past ON outbox (due_at) WHERE state IN ('sent', 'cancelled');
CREATE INDEX outbox_person ON outbox (person) WHERE person <> '';

-- A chat is written to by one process at a time.
CREATE TABLE chat_lease (
    chat        TEXT   NOT NULL PRIMARY KEY,
    owner       TEXT   NOT NULL,
    lease_until BIGINT NOT NULL
);
