-- What people stated, did or set.

-- +goose Up

-- Entries take their arrival numbers from the same row as telemetry, so that
-- the fold meets them at the same place whenever it goes through the history.
CREATE TABLE entries (
    id       text        NOT NULL,
    arrival  bigint      NOT NULL,
    unit     text        NOT NULL,
    run      text        NOT NULL,
    what     text        NOT NULL,
    at       timestamptz NOT NULL,
    entered  timestamptz NOT NULL,
    by       text        NOT NULL,
    body     json,
    imported boolean     NOT NULL DEFAULT false,
    CONSTRAINT entries_key PRIMARY KEY (id),
    CONSTRAINT entries_one_for_a_number UNIQUE (arrival),
    CONSTRAINT entries_say_what CHECK (what <> ''),
    CONSTRAINT entries_say_by_whom CHECK (by <> ''),
    CONSTRAINT entries_body_is_an_object CHECK (json_typeof(body) = 'object')
);
CREATE INDEX entries_by_run  ON entries (run, arrival) WHERE run <> '';
CREATE INDEX entries_by_unit ON entries (unit, arrival);
-- An entry is taken back once; what was taken back is entered anew, not given back.
CREATE UNIQUE INDEX entries_taken_back_once ON entries ((body ->> 'id')) WHERE what = 'takes-back';

CREATE TRIGGER entries_append_only BEFORE UPDATE OR DELETE ON entries
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER entries_never_emptied BEFORE TRUNCATE ON entries
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

COMMENT ON TABLE  entries IS 'What people stated, did or set: rows are added, never changed nor deleted. An entry is taken back by another.';
COMMENT ON COLUMN entries.id       IS 'Short and random, or derived from what the sender called the request.';
COMMENT ON COLUMN entries.arrival  IS 'Arrival number, of one sequence with telemetry and quarantine.';
COMMENT ON COLUMN entries.unit     IS 'lab/unit';
COMMENT ON COLUMN entries.run      IS 'runs.id; empty where it is of the unit.';
COMMENT ON COLUMN entries.what     IS 'load, unload, container, turned-by-hand, drained, rolls, run-kind, decision, symptom, note, probe, house-aim, developer or takes-back.';
COMMENT ON COLUMN entries.at       IS 'When it was so.';
COMMENT ON COLUMN entries.entered  IS 'When it was entered.';
COMMENT ON COLUMN entries.by       IS 'The person or the token.';
COMMENT ON COLUMN entries.body     IS 'The particulars, as they were sent.';
COMMENT ON COLUMN entries.imported IS 'It came with history that was read in from a capture: not part of what is watched live.';

COMMENT ON TABLE arrival_counter IS 'One row: the last arrival number given. Telemetry, quarantine and entries share the sequence.';

-- What the fold says of a run and what people say of it are kept apart, so
-- that either may change without the other being lost.
ALTER TABLE runs
    ADD COLUMN loaded      jsonb  NOT NULL DEFAULT '[]',
    ADD COLUMN folded_kind text   NOT NULL DEFAULT '',
    ADD COLUMN orders      text[] NOT NULL DEFAULT '{}',
    ADD COLUMN decision    text,
    ADD CONSTRAINT runs_decision_is_known CHECK (decision IN ('release', 'hold', 'reprocess', 'correct', 'lost'));
UPDATE runs SET loaded = coalesce(nullif(body -> 'rolls', 'null'), '[]'), folded_kind = kind, decision = body -> 'decision' ->> 'decision';
CREATE INDEX runs_by_order ON runs USING gin (orders);
CREATE INDEX runs_by_name  ON runs (lower(run) text_pattern_ops);
COMMENT ON COLUMN runs.rolls       IS 'Twin checks of the rolls in it, in capitals: those loaded and those scanned since.';
COMMENT ON COLUMN runs.loaded      IS 'The rolls of the load that was in force when it began, as the fold says.';
COMMENT ON COLUMN runs.folded_kind IS 'The kind of run as the fold says; kind is what a person corrected it to.';
COMMENT ON COLUMN runs.orders      IS 'Orders of its rolls, in capitals.';
COMMENT ON COLUMN runs.decision    IS 'What a person decided; null while nobody has.';

-- +goose Down
ALTER TABLE runs DROP COLUMN decision, DROP COLUMN orders, DROP COLUMN folded_kind, DROP COLUMN loaded;
DROP INDEX runs_by_name;
DROP TABLE entries;
