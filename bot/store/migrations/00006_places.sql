-- Whether a member's place in a plan is hidden from her teachers; see 00001 for
-- the rules.

-- +goose Up

ALTER TABLE persons ADD COLUMN hidden BIGINT NOT NULL DEFAULT 0;
