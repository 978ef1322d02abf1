-- Who is on duty, how people are reached, and what became of each page.

-- +goose Up

CREATE TABLE duty_log (
    id     bigint      GENERATED ALWAYS AS IDENTITY,
    at     timestamptz NOT NULL,
    by     text        NOT NULL,
    what   text        NOT NULL,
    person text        NOT NULL,
    detail jsonb       NOT NULL,
    CONSTRAINT duty_log_key PRIMARY KEY (id),
    CONSTRAINT duty_log_says_what CHECK (what <> ''),
    CONSTRAINT duty_log_says_who CHECK (by <> '')
);
CREATE INDEX duty_log_by_what ON duty_log (what, id);
COMMENT ON TABLE  duty_log IS 'Who changed what about duty and contacts: rows are added, never changed nor deleted.';
COMMENT ON COLUMN duty_log.by     IS 'The person, or wetside.';
COMMENT ON COLUMN duty_log.person IS 'Whom it is about; empty where it is about nobody in particular.';
COMMENT ON COLUMN duty_log.detail IS 'What it was changed to, secrets left out.';
CREATE TRIGGER duty_log_append_only BEFORE UPDATE OR DELETE ON duty_log
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER duty_log_never_emptied BEFORE TRUNCATE ON duty_log
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE duty_plans (
    version    integer     NOT NULL,
    body       jsonb       NOT NULL,
    changed_by text        NOT NULL,
    changed_at timestamptz NOT NULL,
    CONSTRAINT duty_plans_key PRIMARY KEY (version),
    CONSTRAINT duty_plans_count_from_one CHECK (version >= 1)
);
COMMENT ON TABLE duty_plans IS 'Every version of the duty plan; the highest is the one in force.';
CREATE TRIGGER duty_plans_append_only BEFORE UPDATE OR DELETE ON duty_plans
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER duty_plans_never_emptied BEFORE TRUNCATE ON duty_plans
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE duty_swaps (
    id       bigint      GENERATED ALWAYS AS IDENTITY,
    day      date        NOT NULL,
    off      text        NOT NULL,
    on_duty  text        NOT NULL,
    note     text        NOT NULL,
    by       text        NOT NULL,
    at       timestamptz NOT NULL,
    ended_by text        NOT NULL DEFAULT '',
    ended_at timestamptz,
    CONSTRAINT duty_swaps_key PRIMARY KEY (id),
    CONSTRAINT duty_swaps_change_somebody CHECK (off <> '' AND off <> on_duty)
);
CREATE INDEX duty_swaps_by_day ON duty_swaps (day) WHERE ended_at IS NULL;
COMMENT ON TABLE  duty_swaps IS 'One person in place of another, in the hours that begin on one day.';
COMMENT ON COLUMN duty_swaps.on_duty IS 'Empty where nobody stands in.';

CREATE TABLE duty_dark (
    person text        NOT NULL,
    until  timestamptz NOT NULL,
    CONSTRAINT duty_dark_key PRIMARY KEY (person)
);
COMMENT ON TABLE duty_dark IS 'Whose phone must not light up, and until when.';

CREATE TABLE contacts (
    person      text        NOT NULL,
    ways        text[]      NOT NULL,
    mail        text        NOT NULL,
    webhook     text        NOT NULL,
    secret      text        NOT NULL,
    webhook_off timestamptz,
    changed_by  text        NOT NULL,
    changed_at  timestamptz NOT NULL,
    CONSTRAINT contacts_key PRIMARY KEY (person),
    CONSTRAINT contacts_are_of_a_person FOREIGN KEY (person) REFERENCES users (name) ON UPDATE CASCADE,
    CONSTRAINT contacts_ways_are_known CHECK (ways <@ ARRAY['push', 'webhook', 'mail'])
);
COMMENT ON TABLE  contacts IS 'How people are reached.';
COMMENT ON COLUMN contacts.ways        IS 'In the order they are tried.';
COMMENT ON COLUMN contacts.secret      IS 'The key that signs the webhook, whsec_...';
COMMENT ON COLUMN contacts.webhook_off IS 'When the other end said that it is gone (410).';

CREATE TABLE push_subscriptions (
    id       bigint      GENERATED ALWAYS AS IDENTITY,
    person   text        NOT NULL,
    device   text        NOT NULL,
    endpoint text        NOT NULL,
    p256dh   text        NOT NULL,
    auth     text        NOT NULL,
    at       timestamptz NOT NULL,
    CONSTRAINT push_subscriptions_key PRIMARY KEY (id),
    CONSTRAINT push_subscriptions_are_of_a_person FOREIGN KEY (person) REFERENCES users (name) ON UPDATE CASCADE,
    CONSTRAINT push_subscriptions_one_a_browser UNIQUE (endpoint)
);
COMMENT ON TABLE push_subscriptions IS 'Browsers of phones that take pages (RFC 8030).';

ALTER TABLE outbox ADD COLUMN taken_at timestamptz;
CREATE INDEX outbox_new ON outbox (id) WHERE taken_at IS NULL;
COMMENT ON COLUMN outbox.taken_at     IS 'When it became part of a case; null while it is new.';
COMMENT ON COLUMN outbox.delivered_at IS 'When the first message about it was taken by the other end.';

CREATE TABLE page_cases (
    id        bigint      GENERATED ALWAYS AS IDENTITY,
    grouped   text        NOT NULL,
    priority  text        NOT NULL,
    opened_at timestamptz NOT NULL,
    step      integer     NOT NULL,
    base      integer     NOT NULL,
    due_at    timestamptz NOT NULL,
    ended_at  timestamptz,
    why       text        NOT NULL,
    CONSTRAINT page_cases_key PRIMARY KEY (id),
    CONSTRAINT page_cases_priority_is_known CHECK (priority IN ('urgent', 'high', 'low')),
    CONSTRAINT page_cases_step_counts CHECK (step >= base AND base >= 0)
);
-- what has one cause is one call
CREATE UNIQUE INDEX page_cases_one_open_for_a_cause ON page_cases (grouped) WHERE ended_at IS NULL;
COMMENT ON TABLE  page_cases IS 'What people are called about until somebody answers.';
COMMENT ON COLUMN page_cases.grouped IS 'What its alerts have in common.';
COMMENT ON COLUMN page_cases.step    IS 'Steps of the escalation made so far, repeats included.';
COMMENT ON COLUMN page_cases.base    IS 'The step at which the present ladder began: what becomes more pressing starts it anew.';
COMMENT ON COLUMN page_cases.due_at  IS 'When the next step is due.';
COMMENT ON COLUMN page_cases.why     IS 'Why it ended.';

CREATE TABLE page_members (
    case_id     bigint      NOT NULL,
    alert_id    text        NOT NULL,
    occurrence  integer     NOT NULL,
    priority    text        NOT NULL,
    since       timestamptz NOT NULL,
    answered_at timestamptz,
    answered_by text        NOT NULL DEFAULT '',
    CONSTRAINT page_members_key PRIMARY KEY (case_id, alert_id, occurrence),
    CONSTRAINT page_members_are_of_a_case FOREIGN KEY (case_id) REFERENCES page_cases (id),
    CONSTRAINT page_members_are_alerts FOREIGN KEY (alert_id) REFERENCES alerts (id) ON UPDATE CASCADE
);
CREATE INDEX page_members_by_alert ON page_members (alert_id);
COMMENT ON TABLE page_members IS 'The occurrences of alerts that a case is about.';

CREATE TABLE page_messages (
    id         text        NOT NULL,
    person     text        NOT NULL,
    priority   text        NOT NULL,
    created_at timestamptz NOT NULL,
    body       jsonb       NOT NULL,
    only_way   text        NOT NULL,
    tries      integer     NOT NULL,
    next_try   timestamptz NOT NULL,
    sent_at    timestamptz,
    sent_by    text        NOT NULL DEFAULT '',
    dropped_at timestamptz,
    why        text        NOT NULL DEFAULT '',
    CONSTRAINT page_messages_key PRIMARY KEY (id),
    CONSTRAINT page_messages_end_once CHECK (sent_at IS NULL OR dropped_at IS NULL)
);
CREATE INDEX page_messages_waiting ON page_messages (person, created_at) WHERE sent_at IS NULL AND dropped_at IS NULL;
CREATE INDEX page_messages_by_person ON page_messages (person, created_at DESC);
COMMENT ON TABLE  page_messages IS 'What goes to people. A row is there, and its try counted, before anything is sent.';
COMMENT ON COLUMN page_messages.id       IS 'Stays the same in each copy, so that the other end can drop all but one.';
COMMENT ON COLUMN page_messages.body     IS 'Fixed before the first try: a copy says the same.';
COMMENT ON COLUMN page_messages.next_try IS 'When to try again if nothing more is heard of the last try.';
COMMENT ON COLUMN page_messages.sent_by  IS 'The way by which the other end took it.';
COMMENT ON COLUMN page_messages.why      IS 'Why it was dropped.';

CREATE TABLE pages (
    id         bigint      GENERATED ALWAYS AS IDENTITY,
    case_id    bigint      NOT NULL,
    step       integer     NOT NULL,
    person     text        NOT NULL,
    priority   text        NOT NULL,
    not_before timestamptz NOT NULL,
    created_at timestamptz NOT NULL,
    message_id text,
    dropped_at timestamptz,
    why        text        NOT NULL DEFAULT '',
    CONSTRAINT pages_key PRIMARY KEY (id),
    CONSTRAINT pages_are_of_a_case FOREIGN KEY (case_id) REFERENCES page_cases (id),
    CONSTRAINT pages_go_in_a_message FOREIGN KEY (message_id) REFERENCES page_messages (id),
    -- nobody is called twice by one step
    CONSTRAINT pages_once UNIQUE (case_id, step, person)
);
CREATE INDEX pages_waiting ON pages (person, id) WHERE message_id IS NULL AND dropped_at IS NULL;
CREATE INDEX pages_by_message ON pages (message_id) WHERE message_id IS NOT NULL;
COMMENT ON TABLE  pages IS 'One step''s page to one person.';
COMMENT ON COLUMN pages.not_before IS 'Held until then: the person works in the dark.';
COMMENT ON COLUMN pages.why        IS 'Why it was dropped.';

CREATE TABLE page_deliveries (
    id         bigint      GENERATED ALWAYS AS IDENTITY,
    message_id text        NOT NULL,
    person     text        NOT NULL,
    try        integer     NOT NULL,
    at         timestamptz NOT NULL,
    took_ms    integer     NOT NULL,
    way        text        NOT NULL,
    outcome    text        NOT NULL,
    detail     text        NOT NULL,
    CONSTRAINT page_deliveries_key PRIMARY KEY (id),
    CONSTRAINT page_deliveries_are_of_a_message FOREIGN KEY (message_id) REFERENCES page_messages (id),
    CONSTRAINT page_deliveries_outcome_is_known CHECK (outcome IN ('sent', 'failed', 'gone', 'unavailable'))
);
CREATE INDEX page_deliveries_by_message ON page_deliveries (message_id, id);
COMMENT ON TABLE page_deliveries IS 'Every try of every message: rows are added, never changed nor deleted.';
CREATE TRIGGER page_deliveries_append_only BEFORE UPDATE OR DELETE ON page_deliveries
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER page_deliveries_never_emptied BEFORE TRUNCATE ON page_deliveries
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

CREATE TABLE way_health (
    person        text        NOT NULL,
    way           text        NOT NULL,
    failures      integer     NOT NULL,
    failing_since timestamptz,
    last_try      timestamptz NOT NULL,
    last_ok       timestamptz,
    detail        text        NOT NULL,
    CONSTRAINT way_health_key PRIMARY KEY (person, way)
);
COMMENT ON TABLE  way_health IS 'How each way to each person has gone lately.';
COMMENT ON COLUMN way_health.failures IS 'Failures since the last success.';

CREATE TABLE page_log (
    id         bigint      GENERATED ALWAYS AS IDENTITY,
    message_id text        NOT NULL,
    at         timestamptz NOT NULL,
    person     text        NOT NULL,
    what       text        NOT NULL,
    alert_id   text        NOT NULL,
    detail     text        NOT NULL,
    CONSTRAINT page_log_key PRIMARY KEY (id),
    CONSTRAINT page_log_is_of_a_message FOREIGN KEY (message_id) REFERENCES page_messages (id)
);
CREATE INDEX page_log_by_message ON page_log (message_id, id);
COMMENT ON TABLE page_log IS 'What was done by way of the links in messages: rows are added, never changed nor deleted.';
CREATE TRIGGER page_log_append_only BEFORE UPDATE OR DELETE ON page_log
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER page_log_never_emptied BEFORE TRUNCATE ON page_log
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- +goose Down
DROP TABLE page_log, way_health, page_deliveries, pages, page_messages, page_members, page_cases;
ALTER TABLE outbox DROP COLUMN taken_at;
DROP TABLE push_subscriptions, contacts, duty_dark, duty_swaps, duty_plans, duty_log;
