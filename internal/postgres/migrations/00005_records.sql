-- Sealed records: what was recorded of each run, frozen, in an append-only log.

-- +goose Up

-- The log: a leaf for each record, the hashes of the tree above the leaves,
-- and signed checkpoints. Leaf, record and checkpoint are written in one
-- transaction, with the holder's term checked in it.
CREATE TABLE log_leaves (
    leaf    bigint NOT NULL,
    kind    text   NOT NULL,
    subject text   NOT NULL,
    hash    bytea  NOT NULL,
    CONSTRAINT log_leaves_key PRIMARY KEY (leaf),
    CONSTRAINT log_leaves_count_from_zero CHECK (leaf >= 0),
    CONSTRAINT log_leaves_kind_is_known CHECK (kind IN ('run', 'entry')),
    CONSTRAINT log_leaves_hash_is_sha256 CHECK (length(hash) = 32)
);
COMMENT ON TABLE  log_leaves IS 'The log of records: one leaf for each, never changed nor deleted. A seal proves "unchanged since", not "true" nor "complete".';
COMMENT ON COLUMN log_leaves.leaf    IS 'Place in the log, counted from 0.';
COMMENT ON COLUMN log_leaves.kind    IS 'run: in records. entry: in record_entries.';
COMMENT ON COLUMN log_leaves.subject IS 'runs.id or entries.id.';
COMMENT ON COLUMN log_leaves.hash    IS 'RFC 6962 leaf hash of the record.';

CREATE TABLE log_hashes (
    index bigint NOT NULL,
    hash  bytea  NOT NULL,
    CONSTRAINT log_hashes_key PRIMARY KEY (index),
    CONSTRAINT log_hashes_hash_is_sha256 CHECK (length(hash) = 32)
);
COMMENT ON TABLE  log_hashes IS 'Hashes of the log''s tree, leaves and nodes, in the order of golang.org/x/mod/sumdb/tlog: what the next leaf is hashed with.';

CREATE TABLE log_checkpoints (
    size bigint NOT NULL,
    note text   NOT NULL,
    CONSTRAINT log_checkpoints_key PRIMARY KEY (size),
    CONSTRAINT log_checkpoints_size_positive CHECK (size > 0)
);
COMMENT ON TABLE  log_checkpoints IS 'Signed checkpoints: what the log was when it had so many leaves. Keep a copy of the last where nobody of the lab can reach it.';
COMMENT ON COLUMN log_checkpoints.note IS 'Signed text: origin, leaves, root, time; see golang.org/x/mod/sumdb/note.';

CREATE TABLE log_keys (
    verifier text NOT NULL,
    CONSTRAINT log_keys_key PRIMARY KEY (verifier)
);
COMMENT ON TABLE  log_keys IS 'Verifier keys that signed checkpoints: a convenience. Who doubts the database brings the key along.';

CREATE TABLE records (
    leaf        bigint           NOT NULL,
    run         text             NOT NULL,
    unit        text             NOT NULL,
    process     text             NOT NULL,
    push        double precision NOT NULL,
    started_at  timestamptz      NOT NULL,
    sealed_at   timestamptz      NOT NULL,
    supersedes  bigint,
    good        boolean          NOT NULL,
    features    bytea            NOT NULL,
    size        integer          NOT NULL,
    packed_hash bytea            NOT NULL,
    packed      bytea            NOT NULL,
    CONSTRAINT records_key PRIMARY KEY (leaf),
    CONSTRAINT records_are_in_the_log FOREIGN KEY (leaf) REFERENCES log_leaves (leaf),
    CONSTRAINT records_supersede_a_record FOREIGN KEY (supersedes) REFERENCES records (leaf),
    CONSTRAINT records_are_superseded_once UNIQUE (supersedes),
    CONSTRAINT records_supersede_what_was CHECK (supersedes < leaf)
);
-- packed is compressed already
ALTER TABLE records ALTER COLUMN packed SET STORAGE EXTERNAL;
CREATE UNIQUE INDEX records_first_of_a_run ON records (run) WHERE supersedes IS NULL;
CREATE INDEX records_by_run ON records (run, leaf);
CREATE INDEX records_good   ON records (unit, process, push, started_at) WHERE good;
CREATE INDEX records_by_start ON records (started_at);
COMMENT ON TABLE  records IS 'One row for each sealed record of a run; later evidence makes a new row that names the one it supersedes, and both stay.';
COMMENT ON COLUMN records.leaf        IS 'Place in the log.';
COMMENT ON COLUMN records.run         IS 'runs.id';
COMMENT ON COLUMN records.sealed_at   IS 'When wetside sealed it.';
COMMENT ON COLUMN records.supersedes  IS 'The record of the same run before this one.';
COMMENT ON COLUMN records.good        IS 'It counts among the good runs that others are compared with.';
COMMENT ON COLUMN records.features    IS 'The figures of the run that others are compared with, as they stand in the record.';
COMMENT ON COLUMN records.size        IS 'Length of the record in bytes.';
COMMENT ON COLUMN records.packed_hash IS 'SHA-256 of packed.';
COMMENT ON COLUMN records.packed      IS 'The record, JSON Lines, compressed with Zstandard (RFC 8878).';

CREATE TABLE record_entries (
    leaf    bigint NOT NULL,
    entry   text   NOT NULL,
    arrival bigint NOT NULL,
    body    bytea  NOT NULL,
    CONSTRAINT record_entries_key PRIMARY KEY (leaf),
    CONSTRAINT record_entries_are_in_the_log FOREIGN KEY (leaf) REFERENCES log_leaves (leaf),
    CONSTRAINT record_entries_seal_an_entry_once UNIQUE (entry),
    CONSTRAINT record_entries_follow_arrival UNIQUE (arrival)
);
COMMENT ON TABLE  record_entries IS 'What people entered, sealed soon after: a second copy of each row of entries, with its place in the log.';
COMMENT ON COLUMN record_entries.entry   IS 'entries.id';
COMMENT ON COLUMN record_entries.arrival IS 'entries.arrival: what is sealed next is behind the highest.';
COMMENT ON COLUMN record_entries.body    IS 'The record, one line of JSON.';

-- +goose StatementBegin
DO $$
DECLARE name text;
BEGIN
    FOREACH name IN ARRAY ARRAY['log_leaves', 'log_hashes', 'log_checkpoints', 'log_keys', 'records', 'record_entries'] LOOP
        EXECUTE format('CREATE TRIGGER %I BEFORE UPDATE OR DELETE ON %I FOR EACH ROW EXECUTE FUNCTION refuse_change()', name || '_append_only', name);
        EXECUTE format('CREATE TRIGGER %I BEFORE TRUNCATE ON %I FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()', name || '_never_emptied', name);
    END LOOP;
END $$;
-- +goose StatementEnd

-- Runs that wait for their record: filled by whatever writes a run, in its own
-- transaction, so that none is forgotten; emptied with the record.
CREATE TABLE record_queue (
    run            text        NOT NULL,
    ended_at       timestamptz NOT NULL,
    noticed_at     timestamptz NOT NULL,
    changed_at     timestamptz NOT NULL,
    changes        bigint      NOT NULL DEFAULT 1,
    open_gap       boolean     NOT NULL,
    before_tried   boolean     NOT NULL DEFAULT false,
    before_version integer,
    before_state   bytea,
    put_off        timestamptz,
    CONSTRAINT record_queue_key PRIMARY KEY (run)
);
COMMENT ON TABLE  record_queue IS 'Runs that ended or changed and wait for their record.';
COMMENT ON COLUMN record_queue.ended_at       IS 'The end of the run by the unit''s clock, or when it was noticed, whichever came first.';
COMMENT ON COLUMN record_queue.noticed_at     IS 'When it was first seen to have ended.';
COMMENT ON COLUMN record_queue.changed_at     IS 'When what is known of it last changed.';
COMMENT ON COLUMN record_queue.changes        IS 'Rises with each change: what changed while its record was made waits on.';
COMMENT ON COLUMN record_queue.open_gap       IS 'A hole in what was heard of it may still be filled.';
COMMENT ON COLUMN record_queue.before_tried   IS 'The state of the fold before the run was looked for.';
COMMENT ON COLUMN record_queue.before_version IS 'Version of before_state.';
COMMENT ON COLUMN record_queue.before_state   IS 'The state of the fold before the run, kept as long as the fold still has it.';
COMMENT ON COLUMN record_queue.put_off        IS 'Not before this: its record could not be made.';

-- +goose StatementBegin
CREATE FUNCTION queue_record() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    -- what people say of a run is sealed entry by entry
    people text[] := ARRAY['seal', 'rolls', 'decision', 'kind', 'alerts'];
    ended  timestamptz := least(coalesce(NEW.ended_at, clock_timestamp()), clock_timestamp());
    gap    boolean := jsonb_typeof(NEW.body -> 'gaps') = 'array' AND jsonb_array_length(NEW.body -> 'gaps') > 0;
BEGIN
    IF NEW.outcome = 'running' THEN
        -- what was taken for its end was none: a run that is sealed already waits for its true end
        DELETE FROM record_queue WHERE run = NEW.id;
        IF EXISTS (SELECT FROM records WHERE run = NEW.id) THEN
            INSERT INTO record_queue (run, ended_at, noticed_at, changed_at, open_gap)
            VALUES (NEW.id, 'infinity', clock_timestamp(), clock_timestamp(), gap);
        END IF;
        RETURN NULL;
    END IF;
    IF TG_OP = 'UPDATE' AND OLD.body - people = NEW.body - people AND OLD.outcome = NEW.outcome
        AND OLD.folded_kind = NEW.folded_kind AND OLD.loaded = NEW.loaded AND OLD.imported = NEW.imported THEN
        RETURN NULL;
    END IF;
    INSERT INTO record_queue AS q (run, ended_at, noticed_at, changed_at, open_gap)
    VALUES (NEW.id, ended, clock_timestamp(), clock_timestamp(), gap)
    ON CONFLICT (run) DO UPDATE SET
        ended_at = least(excluded.ended_at, q.noticed_at), changed_at = excluded.changed_at, open_gap = excluded.open_gap,
        changes = q.changes + 1, before_tried = false, put_off = NULL;
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER runs_wait_for_their_record AFTER INSERT OR UPDATE ON runs
    FOR EACH ROW EXECUTE FUNCTION queue_record();

-- Runs that ended before there were records.
INSERT INTO record_queue (run, ended_at, noticed_at, changed_at, open_gap)
SELECT id, least(coalesce(ended_at, now()), now()), now(), now(),
       jsonb_typeof(body -> 'gaps') = 'array' AND jsonb_array_length(body -> 'gaps') > 0
FROM runs WHERE outcome <> 'running';

-- +goose Down
DROP TRIGGER runs_wait_for_their_record ON runs;
DROP FUNCTION queue_record;
DROP TABLE record_queue, record_entries, records, log_keys, log_checkpoints, log_hashes, log_leaves;
