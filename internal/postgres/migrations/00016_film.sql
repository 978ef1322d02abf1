-- Film that nobody has decided on yet may still go on in another run: the
-- record of its run waits for that as it waits for a hole to be filled.

-- +goose Up
-- +goose StatementBegin
CREATE OR REPLACE FUNCTION queue_record() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    people text[] := ARRAY['seal', 'rolls', 'decision', 'kind', 'alerts'];
    ended  timestamptz := least(coalesce(NEW.ended_at, clock_timestamp()), clock_timestamp());
    gap    boolean := jsonb_typeof(NEW.body -> 'gaps') = 'array' AND jsonb_array_length(NEW.body -> 'gaps') > 0
                   OR NEW.body #>> '{film,decided}' = 'false' AND NEW.decision IS NULL;
BEGIN
    IF NEW.outcome = 'running' THEN
        -- what was taken for its end was none: a run that is sealed already waits for its true end
        DELETE FROM record_queue WHERE run = NEW.id;
        IF EXISTS (SELECT FROM records WHERE run = NEW.id) THEN
            INSERT INTO record_queue (run, ended_at, noticed_at, changed_at, open_gap)
            VALUES (NEW.id, 'infinity', clock_timestamp(), clock_timestamp(), coalesce(gap, false));
        END IF;
        RETURN NULL;
    END IF;
    IF TG_OP = 'UPDATE' AND OLD.body - people = NEW.body - people AND OLD.outcome = NEW.outcome
        AND OLD.folded_kind = NEW.folded_kind AND OLD.loaded = NEW.loaded AND OLD.imported = NEW.imported THEN
        UPDATE record_queue SET open_gap = coalesce(gap, false) WHERE run = NEW.id; -- a decision waits for nothing
        RETURN NULL;
    END IF;
    INSERT INTO record_queue AS q (run, ended_at, noticed_at, changed_at, open_gap)
    VALUES (NEW.id, ended, clock_timestamp(), clock_timestamp(), coalesce(gap, false))
    ON CONFLICT (run) DO UPDATE SET
        ended_at = least(excluded.ended_at, q.noticed_at), changed_at = excluded.changed_at, open_gap = excluded.open_gap,
        changes = q.changes + 1, before_tried = false, put_off = NULL;
    RETURN NULL;
END $$;
-- +goose StatementEnd

-- +goose Down
SELECT 1; -- the function of 00005 would do as well
