-- Units whose telemetry cannot be folded: a fault of the monitor's own. They
-- are set aside, so that it goes on for the others, and tried again by another
-- version of the program.

-- +goose Up

ALTER TABLE unit_states
    ADD COLUMN aside_at timestamptz,
    ADD COLUMN aside_why text,
    ADD COLUMN aside_by text,
    ADD CONSTRAINT unit_states_aside_is_whole CHECK (num_nonnulls(aside_at, aside_why, aside_by) IN (0, 3));
COMMENT ON COLUMN unit_states.aside_at  IS 'Since when the unit is not judged; NULL: it is.';
COMMENT ON COLUMN unit_states.aside_why IS 'What went wrong, in one line.';
COMMENT ON COLUMN unit_states.aside_by  IS 'The program that could not; another tries again from blob.';

-- +goose Down

ALTER TABLE unit_states DROP COLUMN aside_at, DROP COLUMN aside_why, DROP COLUMN aside_by;
