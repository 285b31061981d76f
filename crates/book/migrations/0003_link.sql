-- Private links by which owners see the sheet of one tub. Only a hash of the secret is kept, so that whoever reads the
-- book cannot use a link. Not part of the record: not exported, not verified; a restored book needs new links.
CREATE TABLE link (
    id TEXT NOT NULL PRIMARY KEY,
    tub TEXT NOT NULL,
    hash TEXT NOT NULL UNIQUE,
    made_us BIGINT NOT NULL,
    made_by TEXT,
    expires_us BIGINT NOT NULL,
    revoked_us BIGINT,
    hour_us BIGINT NOT NULL,
    sent BIGINT NOT NULL
);
CREATE INDEX link_by_tub ON link (tub, made_us);
