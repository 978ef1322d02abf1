-- The lab is held by a lease in a row, renewed and expiring by the database's
-- own clock, in place of a lock of a session: a holder that is stopped, hung or
-- cut off keeps its session for long, and was never followed.

-- +goose Up
ALTER TABLE holder
    ADD COLUMN lab           text        NOT NULL DEFAULT '',
    ADD COLUMN process       text        NOT NULL DEFAULT '',
    ADD COLUMN machine       text        NOT NULL DEFAULT '',
    ADD COLUMN address       text        NOT NULL DEFAULT '',
    ADD COLUMN certificate   text        NOT NULL DEFAULT '',
    ADD COLUMN session       integer     NOT NULL DEFAULT 0,
    ADD COLUMN session_began timestamptz,
    ADD COLUMN renewed_at    timestamptz,
    ADD COLUMN expires_at    timestamptz;
ALTER TABLE holder
    DROP CONSTRAINT holder_has_one_row,
    DROP CONSTRAINT holder_only_row_is_true,
    DROP COLUMN only_row,
    ADD CONSTRAINT holder_key PRIMARY KEY (lab);
ALTER TABLE holder SET (fillfactor = 10); -- room on the page: each renewal stays in place
COMMENT ON TABLE  holder IS 'A row for each lab of this database: the lease of the one wetside that may write, and its term. A renewal changes no key and waits for nobody; who takes over locks the row against those who write.';
COMMENT ON COLUMN holder.lab           IS 'Which lab: empty for the one that has the whole database.';
COMMENT ON COLUMN holder.process       IS 'Tells one start of one program from all others.';
COMMENT ON COLUMN holder.machine       IS 'The machine that it runs on, as people know it.';
COMMENT ON COLUMN holder.address       IS 'Where another wetside reaches its pages and API; empty: nowhere.';
COMMENT ON COLUMN holder.certificate   IS 'SHA-256 of the certificate it shows there, in hex; empty: none.';
COMMENT ON COLUMN holder.session       IS 'Process id of the database session by which it renews.';
COMMENT ON COLUMN holder.session_began IS 'When that session began: process ids come back.';
COMMENT ON COLUMN holder.renewed_at    IS 'When it was last renewed, by the clock of the database.';
COMMENT ON COLUMN holder.expires_at    IS 'When another may take over, by the clock of the database; null: held by a wetside of before, by a lock of its session.';

CREATE TABLE lease_terms (
    lab     text        NOT NULL,
    term    bigint      NOT NULL,
    process text        NOT NULL,
    machine text        NOT NULL,
    since   timestamptz NOT NULL,
    how     text        NOT NULL,
    CONSTRAINT lease_terms_key PRIMARY KEY (lab, term),
    CONSTRAINT lease_terms_say_how CHECK (how IN ('free', 'again', 'ended', 'expired'))
);
COMMENT ON TABLE  lease_terms IS 'Who held a lab, for a month back: one that changes hands again and again is seen here.';
COMMENT ON COLUMN lease_terms.since IS 'When the term began, by the clock of the database.';
COMMENT ON COLUMN lease_terms.how   IS 'free: nobody held it; again: the same process as before; ended: the session of the one before had ended; expired: the one before did not renew.';

CREATE TABLE standbys (
    lab     text        NOT NULL,
    process text        NOT NULL,
    machine text        NOT NULL,
    address text        NOT NULL,
    certificate text    NOT NULL,
    seen_at timestamptz NOT NULL,
    CONSTRAINT standbys_key PRIMARY KEY (lab, process)
);
COMMENT ON TABLE  standbys IS 'Who stands by for a lab, as of a moment ago.';
COMMENT ON COLUMN standbys.seen_at IS 'When it last said so, by the clock of the database.';

-- +goose Down
DROP TABLE standbys;
DROP TABLE lease_terms;
ALTER TABLE holder DROP CONSTRAINT holder_key;
ALTER TABLE holder
    DROP COLUMN lab, DROP COLUMN process, DROP COLUMN machine, DROP COLUMN address, DROP COLUMN certificate, DROP COLUMN session,
    DROP COLUMN session_began, DROP COLUMN renewed_at, DROP COLUMN expires_at,
    ADD COLUMN only_row boolean NOT NULL DEFAULT true,
    ADD CONSTRAINT holder_has_one_row PRIMARY KEY (only_row),
    ADD CONSTRAINT holder_only_row_is_true CHECK (only_row);
