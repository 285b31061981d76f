-- The doors: who may come in. Not part of the record: not chained, not exported. Secrets stand here as hashes alone.

-- A person of the book who can log in. The role is the person's own, in the record.
CREATE TABLE account (
    person TEXT NOT NULL PRIMARY KEY,
    login TEXT NOT NULL UNIQUE,
    password TEXT NOT NULL,
    disabled INTEGER NOT NULL,
    made_us BIGINT NOT NULL
);

-- A browser that is logged in. The cookie holds the secret, this its SHA-256.
CREATE TABLE session (
    hash TEXT NOT NULL PRIMARY KEY,
    person TEXT NOT NULL,
    made_us BIGINT NOT NULL,
    seen_us BIGINT NOT NULL,
    address TEXT NOT NULL
);
CREATE INDEX session_by_person ON session (person);

-- A script's way in: a long random text that a person made for it.
CREATE TABLE token (
    id TEXT NOT NULL PRIMARY KEY,
    hash TEXT NOT NULL UNIQUE,
    person TEXT NOT NULL,
    name TEXT NOT NULL,
    reads_only INTEGER NOT NULL,
    made_us BIGINT NOT NULL,
    seen_us BIGINT,
    ends_us BIGINT NOT NULL
);
CREATE INDEX token_by_person ON token (person);

-- Failed log-ins in a row under a name, whether there is such an account or not.
CREATE TABLE attempt (
    login_hash TEXT NOT NULL PRIMARY KEY,
    failed BIGINT NOT NULL,
    last_us BIGINT NOT NULL,
    until_us BIGINT NOT NULL
);

-- What was answered to a request with an idempotency key.
CREATE TABLE idempotency (
    key_hash TEXT NOT NULL PRIMARY KEY,
    request_hash TEXT NOT NULL,
    status BIGINT NOT NULL,
    answer TEXT NOT NULL,
    made_us BIGINT NOT NULL
);
CREATE INDEX idempotency_by_time ON idempotency (made_us);
