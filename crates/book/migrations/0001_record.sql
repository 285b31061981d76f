-- The record. One set of migrations for both engines, so only what both understand alike: TEXT, BIGINT, DOUBLE PRECISION.
-- Times are microseconds since 1970 UTC. Ids are UUIDs in their usual lower-case text.

-- What happened, in order of receipt; never changed, never deleted.
CREATE TABLE entry (
    seq BIGINT NOT NULL PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL,
    subject TEXT,
    at_us BIGINT NOT NULL,
    received_us BIGINT NOT NULL,
    by_person TEXT,
    corrects TEXT,
    body TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE INDEX entry_by_subject ON entry (subject, kind, at_us);
CREATE INDEX entry_by_kind ON entry (kind, at_us);
CREATE INDEX entry_by_time ON entry (at_us);
CREATE INDEX entry_by_corrected ON entry (corrects) WHERE corrects IS NOT NULL;

-- How many entries there are and the hash of the last: one row, which every writer locks.
CREATE TABLE head (
    one INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
    count BIGINT NOT NULL,
    hash TEXT NOT NULL
);
INSERT INTO head (one, count, hash)
VALUES (1, 0, '0000000000000000000000000000000000000000000000000000000000000000');

-- The newest version of each thing, made from the entries and always rebuildable from them.
CREATE TABLE thing (
    kind TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    site TEXT,
    search TEXT NOT NULL,
    body TEXT NOT NULL,
    entry_id TEXT NOT NULL,
    seq BIGINT NOT NULL,
    at_us BIGINT NOT NULL,
    archived INTEGER NOT NULL,
    PRIMARY KEY (kind, id)
);
CREATE INDEX thing_by_name ON thing (kind, archived, search, id);

-- What was last worked out about each tub. A cache: not part of the record, not exported, not verified.
CREATE TABLE summary (
    tub TEXT NOT NULL PRIMARY KEY,
    urgency DOUBLE PRECISION NOT NULL,
    due_us BIGINT NOT NULL,
    body TEXT NOT NULL,
    seq BIGINT NOT NULL
);
CREATE INDEX summary_by_urgency ON summary (urgency DESC, due_us, tub);
