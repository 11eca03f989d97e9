-- One text for SQLite and PostgreSQL. Texts are '' and numbers 0 where nothing
-- is said; times are milliseconds since 1970 in UTC; truths are 0 or 1.

-- +goose Up

CREATE TABLE meta (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
);

CREATE TABLE persons (
    id          TEXT   NOT NULL PRIMARY KEY,
    name        TEXT   NOT NULL,
    zone        TEXT   NOT NULL,
    units       BIGINT NOT NULL,
    hand        TEXT   NOT NULL,
    quiet_from  BIGINT NOT NULL, -- minutes after midnight in zone
    quiet_to    BIGINT NOT NULL,
    answers     TEXT   NOT NULL,
    current_id  TEXT   NOT NULL, -- the class meant in a direct message
    since       BIGINT NOT NULL,
    merged_into TEXT   NOT NULL  -- the person who has the last account that this one had
);
CREATE INDEX persons_merged ON persons (merged_into) WHERE merged_into <> '';

CREATE TABLE accounts (
    chat   TEXT   NOT NULL,
    userid TEXT   NOT NULL,
    person TEXT   NOT NULL REFERENCES persons (id) ON DELETE CASCADE,
    since  BIGINT NOT NULL,
    PRIMARY KEY (chat, userid)
);
CREATE INDEX accounts_person ON accounts (person);

-- What a person had of her own before her last account went to another, as
-- JSON, so that a wrong link can be undone.
CREATE TABLE merged (
    person TEXT NOT NULL PRIMARY KEY REFERENCES persons (id) ON DELETE CASCADE,
    had    TEXT NOT NULL
);

CREATE TABLE looms (
    person TEXT NOT NULL PRIMARY KEY REFERENCES persons (id) ON DELETE CASCADE,
    loom   TEXT NOT NULL -- JSON
);

CREATE TABLE classes (
    id            TEXT   NOT NULL PRIMARY KEY,
    name          TEXT   NOT NULL,
    zone          TEXT   NOT NULL,
    units         BIGINT NOT NULL,
    credit        TEXT   NOT NULL,
    technique     TEXT   NOT NULL,
    yarn          TEXT   NOT NULL,
    reminders     TEXT   NOT NULL,
    answers       TEXT   NOT NULL,
    minors        BIGINT NOT NULL,
    direct        BIGINT NOT NULL,
    opened        BIGINT NOT NULL,
    closed        BIGINT NOT NULL,
    last_session  BIGINT NOT NULL, -- the numbers given last
    last_question BIGINT NOT NULL,
    last_schedule BIGINT NOT NULL
);

CREATE TABLE places (
    chat  TEXT NOT NULL,
    room  TEXT NOT NULL,
    class TEXT NOT NULL REFERENCES classes (id) ON DELETE CASCADE,
    added BIGINT NOT NULL,
    PRIMARY KEY (chat, room)
);
CREATE INDEX places_class ON places (class);

CREATE TABLE members (
    class  TEXT   NOT NULL REFERENCES classes (id) ON DELETE CASCADE,
    person TEXT   NOT NULL REFERENCES persons (id) ON DELETE CASCADE,
    role   BIGINT NOT NULL,
    joined BIGINT NOT NULL,
    ready  BIGINT NOT NULL,
    PRIMARY KEY (class, person)
);
CREATE INDEX members_person ON members (person);

CREATE TABLE sessions (
    id        TEXT   NOT NULL PRIMARY KEY,
    class     TEXT   NOT NULL REFERENCES classes (id) ON DELETE CASCADE,
    number    BIGINT NOT NULL,
    topic     TEXT   NOT NULL,
    starts    BIGINT NOT NULL,
    ends      BIGINT NOT NULL, -- starts and the minutes
    wall      TEXT   NOT NULL,
    zone      TEXT   NOT NULL,
    minutes   BIGINT NOT NULL,
    link      TEXT   NOT NULL,
    work_row  TEXT   NOT NULL,
    work_yarn TEXT   NOT NULL,
    series    TEXT   NOT NULL,
    sequence  BIGINT NOT NULL,
    cancelled BIGINT NOT NULL,
    changed   BIGINT NOT NULL,
    -- the answers that remain of people who were forgotten
    coming    BIGINT NOT NULL,
    away      BIGINT NOT NULL,
    came      BIGINT NOT NULL,
    UNIQUE (class, number)
);
CREATE INDEX sessions_ends ON sessions (class, ends);
CREATE INDEX sessions_starts ON sessions (starts);

CREATE TABLE attendance (
    session TEXT   NOT NULL REFERENCES sessions (id) ON DELETE CASCADE,
    person  TEXT   NOT NULL REFERENCES persons (id) ON DELETE CASCADE,
    answer  TEXT   NOT NULL,
    came    TEXT   NOT NULL,
    at      BIGINT NOT NULL,
    PRIMARY KEY (session, person)
);
CREATE INDEX attendance_person ON attendance (person);

CREATE TABLE questions (
    id     TEXT   NOT NULL PRIMARY KEY,
    class  TEXT   NOT NULL REFERENCES classes (id) ON DELETE CASCADE,
    person TEXT   NOT NULL REFERENCES persons (id) ON DELETE CASCADE,
    number BIGINT NOT NULL,
    text   TEXT   NOT NULL,
    asked  BIGINT NOT NULL,
    done   BIGINT NOT NULL,
    UNIQUE (class, number)
);
CREATE INDEX questions_waiting ON questions (class, number) WHERE done = 0;
CREATE INDEX questions_person ON questions (person);

CREATE TABLE links (
    code      TEXT   NOT NULL PRIMARY KEY,
    from_chat TEXT   NOT NULL,
    from_user TEXT   NOT NULL,
    to_chat   TEXT   NOT NULL,
    to_user   TEXT   NOT NULL,
    expires   BIGINT NOT NULL,
    tries     BIGINT NOT NULL,
    from_yes  BIGINT NOT NULL,
    to_yes    BIGINT NOT NULL
);
CREATE INDEX links_from ON links (from_chat, from_user);

CREATE TABLE settled (
    chat   TEXT   NOT NULL,
    userid TEXT   NOT NULL,
    person TEXT   NOT NULL REFERENCES persons (id) ON DELETE CASCADE,
    was    TEXT   NOT NULL,
    at     BIGINT NOT NULL,
    PRIMARY KEY (chat, userid)
);
CREATE INDEX settled_person ON settled (person);

CREATE TABLE schedules (
    id        TEXT   NOT NULL PRIMARY KEY,
    class     TEXT   NOT NULL REFERENCES classes (id) ON DELETE CASCADE,
    number    BIGINT NOT NULL,
    spec      TEXT   NOT NULL,
    zone      TEXT   NOT NULL,
    text      TEXT   NOT NULL,
    to_chat   TEXT   NOT NULL,
    to_room   TEXT   NOT NULL,
    made_by   TEXT   NOT NULL,
    made      BIGINT NOT NULL,
    planned   BIGINT NOT NULL,
    ended     BIGINT NOT NULL,
    UNIQUE (class, number)
);
CREATE INDEX schedules_by ON schedules (made_by);

-- Requests that changed something, and what was answered. asker is a digest of
-- the account, so that her answers can be found and deleted without naming her.
CREATE TABLE ledger (
    chat    TEXT   NOT NULL,
    request TEXT   NOT NULL,
    asker   TEXT   NOT NULL,
    at      BIGINT NOT NULL,
    reply   TEXT   NOT NULL, -- JSON
    PRIMARY KEY (chat, request)
);
CREATE INDEX ledger_asker ON ledger (asker);
CREATE INDEX ledger_at ON ledger (at);

-- Who was forgotten: ids and digests of accounts, as JSON, for backups that
-- still know them.
CREATE TABLE forgotten (
    id   TEXT   NOT NULL PRIMARY KEY,
    at   BIGINT NOT NULL,
    what TEXT   NOT NULL
);
