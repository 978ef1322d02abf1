-- A long run is sealed in parts; a run whose sealing fails is put off alone;
-- a message that is refused again is counted, not kept again.

-- +goose Up

-- The messages of a run too long for one row. The record's head names each
-- part by its hash, so that the one leaf of the record covers them all. Parts
-- are written one by one while the record is made, and belong to it (leaf)
-- from the transaction that adds it to the log; from then on they stay.
CREATE TABLE record_parts (
    run         text    NOT NULL,
    n           integer NOT NULL,
    leaf        bigint,
    messages    integer NOT NULL,
    size        integer NOT NULL,
    packed_hash bytea   NOT NULL,
    packed      bytea   NOT NULL,
    CONSTRAINT record_parts_are_of_a_record FOREIGN KEY (leaf) REFERENCES records (leaf),
    CONSTRAINT record_parts_count_from_one CHECK (n >= 1)
);
ALTER TABLE record_parts ALTER COLUMN packed SET STORAGE EXTERNAL;
CREATE UNIQUE INDEX record_parts_key    ON record_parts (leaf, n) WHERE leaf IS NOT NULL;
CREATE UNIQUE INDEX record_parts_drafts ON record_parts (run, n)  WHERE leaf IS NULL;
COMMENT ON TABLE  record_parts IS 'Messages of runs that are too long for one row of records, in arrival order.';
COMMENT ON COLUMN record_parts.run         IS 'runs.id';
COMMENT ON COLUMN record_parts.n           IS 'Place among the parts of the record, counted from 1.';
COMMENT ON COLUMN record_parts.leaf        IS 'The record that it is part of; null while that is being made.';
COMMENT ON COLUMN record_parts.messages    IS 'Messages in it.';
COMMENT ON COLUMN record_parts.size        IS 'Length of the part in bytes.';
COMMENT ON COLUMN record_parts.packed_hash IS 'SHA-256 of packed.';
COMMENT ON COLUMN record_parts.packed      IS 'The part, JSON Lines, compressed with Zstandard (RFC 8878).';
CREATE TRIGGER record_parts_append_only BEFORE UPDATE OR DELETE ON record_parts
    FOR EACH ROW WHEN (OLD.leaf IS NOT NULL) EXECUTE FUNCTION refuse_change();
CREATE TRIGGER record_parts_never_emptied BEFORE TRUNCATE ON record_parts
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

ALTER TABLE record_queue
    ADD COLUMN failures   integer NOT NULL DEFAULT 0,
    ADD COLUMN failed_at  timestamptz,
    ADD COLUMN failed_why text NOT NULL DEFAULT '';
COMMENT ON COLUMN record_queue.failures   IS 'How often its record could not be made.';
COMMENT ON COLUMN record_queue.failed_at  IS 'When that was so for the first time.';
COMMENT ON COLUMN record_queue.failed_why IS 'Why, the last time.';

-- One row for what is refused once and for ever: a copy that the broker sends
-- again only counts.
ALTER TABLE quarantine
    ADD COLUMN content bytea,
    ADD COLUMN keyed   boolean NOT NULL DEFAULT false,
    ADD COLUMN times   bigint  NOT NULL DEFAULT 1,
    ADD COLUMN last_at timestamptz;
UPDATE quarantine SET last_at = received_at, content = sha256(convert_to(topic, 'UTF8') || '\x00'::bytea || payload);
ALTER TABLE quarantine ALTER COLUMN last_at SET NOT NULL, ALTER COLUMN content SET NOT NULL;
CREATE INDEX quarantine_content ON quarantine (content, last_at);
COMMENT ON COLUMN quarantine.content IS 'SHA-256 of topic, a zero byte and payload.';
COMMENT ON COLUMN quarantine.keyed   IS 'Boot and seq can be read in it: the same content is the same message, whenever it comes.';
COMMENT ON COLUMN quarantine.times   IS 'How often it was received; without boot and seq: with no long time in between.';
COMMENT ON COLUMN quarantine.last_at IS 'When it was received last.';

CREATE TABLE quarantine_again (
    arrival     bigint      NOT NULL,
    first       bigint      NOT NULL,
    received_at timestamptz NOT NULL,
    CONSTRAINT quarantine_again_key PRIMARY KEY (arrival)
);
CREATE INDEX quarantine_again_by_time ON quarantine_again (received_at);
COMMENT ON TABLE  quarantine_again IS 'Refused messages that were received again and name no boot and seq, for whoever counts arrivals: that they were received, not what. Kept for some days.';
COMMENT ON COLUMN quarantine_again.first IS 'quarantine.arrival of the row that holds it.';

-- +goose Down
DROP TABLE quarantine_again;
DROP INDEX quarantine_content;
ALTER TABLE quarantine DROP COLUMN content, DROP COLUMN keyed, DROP COLUMN times, DROP COLUMN last_at;
ALTER TABLE record_queue DROP COLUMN failures, DROP COLUMN failed_at, DROP COLUMN failed_why;
DROP TABLE record_parts;
