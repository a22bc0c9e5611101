-- One schema for SQLite and PostgreSQL. SQLite takes any name of a type: BYTEA holds bytes on both, BIGINT whole numbers.
-- Times are microseconds since 1970-01-01T00:00:00Z. Identities are 32 random hexadecimal digits.

-- A thing that is kept: a product, a line, a plan. What it says stands in its versions.
CREATE TABLE document (
    id TEXT NOT NULL PRIMARY KEY,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    latest BIGINT NOT NULL,
    UNIQUE (kind, name)
);

-- What a document said from one change to the next. Rows are added, never changed.
CREATE TABLE version (
    document TEXT NOT NULL REFERENCES document (id),
    number BIGINT NOT NULL,
    at BIGINT NOT NULL,
    author TEXT NOT NULL,
    note TEXT NOT NULL,
    removed BIGINT NOT NULL,
    summary TEXT NOT NULL,
    body BYTEA NOT NULL,
    PRIMARY KEY (document, number)
);

CREATE TABLE person (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL,
    password TEXT NOT NULL,
    disabled BIGINT NOT NULL,
    created BIGINT NOT NULL
);

-- A link that works once: for the first administrator, and for everyone an administrator asks in.
CREATE TABLE invitation (
    hash TEXT NOT NULL PRIMARY KEY,
    role TEXT NOT NULL,
    author TEXT NOT NULL,
    created BIGINT NOT NULL,
    expires BIGINT NOT NULL,
    used BIGINT NOT NULL
);

CREATE TABLE session (
    hash TEXT NOT NULL PRIMARY KEY,
    data TEXT NOT NULL,
    expires BIGINT NOT NULL
);

-- Access of programs. Only the hash of the secret is kept.
CREATE TABLE token (
    id TEXT NOT NULL PRIMARY KEY,
    hash TEXT NOT NULL UNIQUE,
    person TEXT NOT NULL REFERENCES person (id),
    label TEXT NOT NULL,
    role TEXT NOT NULL,
    created BIGINT NOT NULL,
    expires BIGINT NOT NULL,
    revoked BIGINT NOT NULL
);

CREATE TABLE job (
    id TEXT NOT NULL PRIMARY KEY,
    kind TEXT NOT NULL,
    title TEXT NOT NULL,
    payload TEXT NOT NULL,
    author TEXT NOT NULL,
    created BIGINT NOT NULL,
    state TEXT NOT NULL,
    attempt BIGINT NOT NULL,
    worker TEXT NOT NULL,
    lease TEXT NOT NULL,
    lease_until BIGINT NOT NULL,
    progress TEXT NOT NULL,
    checkpoint BYTEA NOT NULL,
    cancel BIGINT NOT NULL,
    result TEXT NOT NULL,
    ended BIGINT NOT NULL
);
CREATE INDEX job_by_state ON job (state, created);

-- Who did what, and when. Rows are added, never changed.
CREATE TABLE audit (
    at BIGINT NOT NULL,
    id TEXT NOT NULL PRIMARY KEY,
    who TEXT NOT NULL,
    action TEXT NOT NULL,
    subject TEXT NOT NULL,
    detail TEXT NOT NULL
);
CREATE INDEX audit_by_time ON audit (at, id);
CREATE INDEX version_by_time ON version (at);
