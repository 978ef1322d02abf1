-- What the rules found: alerts with their history, pages, runs, and the state
-- of the fold.

-- +goose Up

-- Rises with every change of an alert, so that whoever follows alerts can
-- tell the newer of two.
CREATE SEQUENCE alert_updates;

CREATE TABLE alerts (
    id               text        NOT NULL,
    key              text        NOT NULL,
    rule             text        NOT NULL,
    unit             text        NOT NULL,
    run              text        NOT NULL,
    step             text        NOT NULL,
    subject          text        NOT NULL,
    priority         text        NOT NULL,
    state            text        NOT NULL,
    occurrence       integer     NOT NULL,
    raised_at        timestamptz NOT NULL,
    noticed_at       timestamptz NOT NULL,
    found_afterwards boolean     NOT NULL,
    cleared_at       timestamptz,
    acknowledged_at  timestamptz,
    acknowledged_by  text        NOT NULL,
    shelved_until    timestamptz,
    shelved_by       text        NOT NULL,
    shelved_reason   text        NOT NULL,
    withdrawn        boolean     NOT NULL,
    latched          boolean     NOT NULL,
    message          text        NOT NULL,
    consequence      text        NOT NULL,
    response         text        NOT NULL,
    facts            jsonb       NOT NULL,
    first_id         text        NOT NULL,
    last_occ_id      text        NOT NULL,
    former_ids       text[]      NOT NULL,
    episodes         jsonb       NOT NULL,
    updated_seq      bigint      NOT NULL,
    CONSTRAINT alerts_key PRIMARY KEY (id),
    CONSTRAINT alerts_priority_is_known CHECK (priority IN ('urgent', 'high', 'low')),
    CONSTRAINT alerts_state_is_known
        CHECK (state IN ('unacknowledged', 'acknowledged', 'cleared-unacknowledged', 'closed')),
    CONSTRAINT alerts_occurrence_counts_from_one CHECK (occurrence >= 1),
    CONSTRAINT alerts_withdrawn_is_closed CHECK (NOT withdrawn OR state = 'closed')
);
-- A condition that returns before its alert is closed is the same alert.
CREATE UNIQUE INDEX alerts_one_open_for_a_condition ON alerts (key) WHERE state <> 'closed';
CREATE INDEX alerts_by_condition  ON alerts (key, raised_at);
CREATE INDEX alerts_newest_first  ON alerts (raised_at DESC, id);
CREATE INDEX alerts_by_unit       ON alerts (unit, raised_at DESC);
CREATE INDEX alerts_by_run        ON alerts (run) WHERE run <> '';
CREATE INDEX alerts_by_last_occurrence ON alerts (last_occ_id);
CREATE INDEX alerts_by_former_id  ON alerts USING gin (former_ids);
COMMENT ON TABLE  alerts IS 'Alerts as they stand; their history is in alert_events.';
COMMENT ON COLUMN alerts.id               IS 'Derived from what the alert is of, never a serial number: the id of its first occurrence.';
COMMENT ON COLUMN alerts.key              IS 'The condition: unit, run, rule, step and subject.';
COMMENT ON COLUMN alerts.rule             IS 'The rule that raised it.';
COMMENT ON COLUMN alerts.unit             IS 'lab/unit';
COMMENT ON COLUMN alerts.run              IS 'runs.id; empty outside a run.';
COMMENT ON COLUMN alerts.step             IS 'The step of the process, where the rule is about one.';
COMMENT ON COLUMN alerts.subject          IS 'What in particular, such as a container.';
COMMENT ON COLUMN alerts.priority         IS 'urgent (within minutes), high (within the hour) or low.';
COMMENT ON COLUMN alerts.state            IS 'unacknowledged, acknowledged, cleared-unacknowledged or closed.';
COMMENT ON COLUMN alerts.occurrence       IS 'Rises by one when the condition returns before the alert is closed.';
COMMENT ON COLUMN alerts.raised_at        IS 'On the unit''s timeline, of the present occurrence.';
COMMENT ON COLUMN alerts.noticed_at       IS 'Arrival time at which it was found out.';
COMMENT ON COLUMN alerts.found_afterwards IS 'It had already ended when it was noticed; never paged.';
COMMENT ON COLUMN alerts.cleared_at       IS 'On the unit''s timeline; null while it lasts.';
COMMENT ON COLUMN alerts.acknowledged_at  IS 'When a person acknowledged it.';
COMMENT ON COLUMN alerts.acknowledged_by  IS 'Who acknowledged it.';
COMMENT ON COLUMN alerts.shelved_until    IS 'Shelving is an axis of its own, beside the state.';
COMMENT ON COLUMN alerts.shelved_by       IS 'Who shelved it.';
COMMENT ON COLUMN alerts.shelved_reason   IS 'Why it is shelved.';
COMMENT ON COLUMN alerts.withdrawn        IS 'Later evidence took it back; closed, never deleted.';
COMMENT ON COLUMN alerts.latched          IS 'Stays until a person acknowledges it.';
COMMENT ON COLUMN alerts.message          IS 'What is wrong.';
COMMENT ON COLUMN alerts.consequence      IS 'What happens if nobody acts.';
COMMENT ON COLUMN alerts.response         IS 'What to do.';
COMMENT ON COLUMN alerts.facts            IS 'The figures it was judged by.';
COMMENT ON COLUMN alerts.first_id         IS 'Id of its first occurrence.';
COMMENT ON COLUMN alerts.last_occ_id      IS 'Id of the occurrence it stands at.';
COMMENT ON COLUMN alerts.former_ids       IS 'Ids of earlier occurrences, and those it had before late evidence moved its beginning.';
COMMENT ON COLUMN alerts.episodes         IS 'Its occurrences, oldest first, with what was made of each: late evidence moves one or takes it back.';
COMMENT ON COLUMN alerts.updated_seq      IS 'Rises with every change of any alert.';

CREATE TABLE alert_events (
    id         bigint      GENERATED ALWAYS AS IDENTITY,
    alert_id   text        NOT NULL,
    occurrence integer     NOT NULL,
    at         timestamptz NOT NULL,
    what       text        NOT NULL,
    by         text        NOT NULL,
    note       text        NOT NULL,
    CONSTRAINT alert_events_key PRIMARY KEY (id),
    -- an id follows its beginning when late evidence moves it; its history goes with it
    CONSTRAINT alert_events_are_of_an_alert FOREIGN KEY (alert_id) REFERENCES alerts (id) ON UPDATE CASCADE,
    CONSTRAINT alert_events_say_what CHECK (what <> '')
);
CREATE INDEX alert_events_by_alert ON alert_events (alert_id, id);
COMMENT ON TABLE  alert_events IS 'The history of alerts: rows are added, never changed nor deleted.';
COMMENT ON COLUMN alert_events.at   IS 'When wetside recorded it.';
COMMENT ON COLUMN alert_events.what IS 'raised, returned, cleared, acknowledged, shelved, unshelved, withdrawn, closed, priority or moved.';
COMMENT ON COLUMN alert_events.by   IS 'The person; empty for the rules.';
COMMENT ON COLUMN alert_events.note IS 'What the person wrote.';

-- +goose StatementBegin
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: % is not allowed', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER alert_events_append_only
    BEFORE UPDATE OF id, occurrence, at, what, by, note OR DELETE ON alert_events
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER alert_events_never_emptied BEFORE TRUNCATE ON alert_events
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE outbox (
    id           bigint      GENERATED ALWAYS AS IDENTITY,
    alert_id     text        NOT NULL,
    occurrence   integer     NOT NULL,
    step         integer     NOT NULL,
    priority     text        NOT NULL,
    created_at   timestamptz NOT NULL,
    delivered_at timestamptz,
    CONSTRAINT outbox_key PRIMARY KEY (id),
    CONSTRAINT outbox_is_of_an_alert FOREIGN KEY (alert_id) REFERENCES alerts (id) ON UPDATE CASCADE,
    -- the worker may do its work twice; people are paged once
    CONSTRAINT outbox_pages_once UNIQUE (alert_id, occurrence, step)
);
CREATE INDEX outbox_waiting ON outbox (id) WHERE delivered_at IS NULL;
COMMENT ON TABLE  outbox IS 'Pages to people, committed together with the change that calls for them.';
COMMENT ON COLUMN outbox.step         IS 'Step of the escalation.';
COMMENT ON COLUMN outbox.delivered_at IS 'Null while it waits.';

CREATE TABLE runs (
    id         text             NOT NULL,
    unit       text             NOT NULL,
    run        text             NOT NULL,
    process    text             NOT NULL,
    push       double precision NOT NULL,
    kind       text             NOT NULL,
    started_at timestamptz      NOT NULL,
    ended_at   timestamptz,
    outcome    text             NOT NULL,
    verdict    text,
    rolls      text[]           NOT NULL,
    body       jsonb            NOT NULL,
    imported   boolean          NOT NULL DEFAULT false,
    CONSTRAINT runs_key PRIMARY KEY (id),
    CONSTRAINT runs_outcome_is_known CHECK (outcome IN ('running', 'done', 'aborted', 'lost')),
    CONSTRAINT runs_verdict_is_known CHECK (verdict IN ('in-control', 'inspect', 'out-of-control'))
);
CREATE INDEX runs_newest_first ON runs (started_at DESC, id);
CREATE INDEX runs_by_unit      ON runs (unit, started_at DESC);
CREATE INDEX runs_by_roll      ON runs USING gin (rolls);
COMMENT ON TABLE  runs IS 'Runs: what is searched for in columns, the whole record in body.';
COMMENT ON COLUMN runs.id    IS 'Derived from unit and run.';
COMMENT ON COLUMN runs.run   IS 'The unit''s own name of the run.';
COMMENT ON COLUMN runs.rolls IS 'Twin checks of the rolls in it.';
COMMENT ON COLUMN runs.body  IS 'The run as the API gives it.';
COMMENT ON COLUMN runs.imported IS 'It is known from imported history only; an import never changes a run that was watched live.';

CREATE TABLE unit_states (
    unit       text        NOT NULL,
    arrival    bigint      NOT NULL,
    version    integer     NOT NULL,
    blob       bytea       NOT NULL,
    updated_at timestamptz NOT NULL,
    CONSTRAINT unit_states_key PRIMARY KEY (unit)
);
COMMENT ON TABLE  unit_states IS 'State of the fold of each unit: a cache that telemetry can rebuild.';
COMMENT ON COLUMN unit_states.arrival IS 'The last arrival number folded in.';
COMMENT ON COLUMN unit_states.version IS 'Version of the form of blob; an unknown one is folded again from telemetry.';
COMMENT ON COLUMN unit_states.blob    IS 'The state, as the rules wrote it.';

-- +goose Down
DROP TABLE unit_states;
DROP TABLE runs;
DROP TABLE outbox;
DROP TABLE alert_events;
DROP FUNCTION refuse_change;
DROP TABLE alerts;
DROP SEQUENCE alert_updates;
