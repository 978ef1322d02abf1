-- What rolls want is saved from the first card, list or entry on, and each roll
-- of a run may be decided on by itself.

-- +goose Up
CREATE TABLE rolls (
    twin_check text        NOT NULL,
    process    text        NOT NULL DEFAULT '',
    push       double precision,
    film       text        NOT NULL DEFAULT '',
    format     text        NOT NULL DEFAULT '',
    order_name text        NOT NULL DEFAULT '',
    due_at     timestamptz,
    note       text        NOT NULL DEFAULT '',
    stop       text        NOT NULL DEFAULT '',
    entered_at timestamptz NOT NULL,
    entered_by text        NOT NULL,
    changed_at timestamptz NOT NULL,
    changed_by text        NOT NULL,
    CONSTRAINT rolls_key PRIMARY KEY (twin_check),
    CONSTRAINT rolls_are_named_by_twin_checks CHECK (twin_check ~ '^[0-9A-Z]([0-9A-Z-]{0,30}[0-9A-Z])?$')
);
CREATE INDEX rolls_by_change ON rolls (changed_at);
COMMENT ON TABLE  rolls IS 'What is known of a roll: what it wants, whose it is, when it is promised.';
COMMENT ON COLUMN rolls.process    IS 'Process id; empty where nobody said.';
COMMENT ON COLUMN rolls.push       IS 'Stops; null where nobody said.';
COMMENT ON COLUMN rolls.stop       IS 'Why it must not be run; empty where it may.';
COMMENT ON COLUMN rolls.entered_at IS 'When it was first heard of.';
COMMENT ON COLUMN rolls.changed_at IS 'When what is known of it last changed. After 60 days the number is taken for that of another roll.';

CREATE TABLE roll_changes (
    n          bigint GENERATED ALWAYS AS IDENTITY,
    twin_check text        NOT NULL,
    at         timestamptz NOT NULL,
    by         text        NOT NULL,
    how        text        NOT NULL,
    body       jsonb       NOT NULL,
    CONSTRAINT roll_changes_key PRIMARY KEY (n),
    CONSTRAINT roll_changes_say_how CHECK (how IN ('list', 'load', 'run', 'stop', 'removed'))
);
CREATE INDEX roll_changes_by_roll ON roll_changes (twin_check, n);
CREATE TRIGGER roll_changes_append_only BEFORE UPDATE OR DELETE ON roll_changes
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER roll_changes_never_emptied BEFORE TRUNCATE ON roll_changes
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
COMMENT ON TABLE  roll_changes IS 'Who said what of a roll, and when: rows are added, never changed nor deleted.';
COMMENT ON COLUMN roll_changes.how  IS 'list, load, run (entered of a run), stop or removed.';
COMMENT ON COLUMN roll_changes.body IS 'What was known of the roll from then on.';

ALTER TABLE runs
    ADD COLUMN decided        boolean NOT NULL DEFAULT false,
    ADD COLUMN roll_decisions text[]  NOT NULL DEFAULT '{}',
    ADD COLUMN rolls_again    text[]  NOT NULL DEFAULT '{}';
UPDATE runs SET decided = true, roll_decisions = ARRAY[decision], rolls_again = CASE decision WHEN 'reprocess' THEN rolls ELSE '{}' END
WHERE decision IS NOT NULL;
COMMENT ON COLUMN runs.decided        IS 'A person decided on the run, or on each roll of it.';
COMMENT ON COLUMN runs.roll_decisions IS 'Every decision that holds for the run or one of its rolls.';
COMMENT ON COLUMN runs.rolls_again    IS 'Twin checks of the rolls that are to be processed again, in capitals.';

-- +goose Down
ALTER TABLE runs DROP COLUMN rolls_again, DROP COLUMN roll_decisions, DROP COLUMN decided;
DROP TABLE roll_changes;
DROP TABLE rolls;
