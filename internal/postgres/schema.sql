-- The schema after all migrations, for reading. Written by: go test ./internal/postgres -run Schema -update

TABLE alert_events -- The history of alerts: rows are added, never changed nor deleted.
    id bigint NOT NULL
    alert_id text NOT NULL
    occurrence integer NOT NULL
    at timestamp with time zone NOT NULL -- When wetside recorded it.
    what text NOT NULL -- raised, returned, cleared, acknowledged, shelved, unshelved, held, released, withdrawn, closed, priority or moved.
    by text NOT NULL -- The person; empty for the rules.
    note text NOT NULL -- What the person wrote.
    CONSTRAINT alert_events_are_of_an_alert FOREIGN KEY (alert_id) REFERENCES alerts(id) ON UPDATE CASCADE
    CONSTRAINT alert_events_key PRIMARY KEY (id)
    CONSTRAINT alert_events_say_what CHECK ((what <> ''::text))
    CREATE INDEX alert_events_by_alert ON public.alert_events USING btree (alert_id, id)
    CREATE UNIQUE INDEX alert_events_key ON public.alert_events USING btree (id)
    CREATE TRIGGER alert_events_append_only BEFORE DELETE OR UPDATE OF id, occurrence, at, what, by, note ON public.alert_events FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER alert_events_never_emptied BEFORE TRUNCATE ON public.alert_events FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE alerts -- Alerts as they stand; their history is in alert_events.
    id text NOT NULL -- Derived from what the alert is of, never a serial number: the id of its first occurrence.
    key text NOT NULL -- The condition: unit, run, rule, step and subject.
    rule text NOT NULL -- The rule that raised it.
    unit text NOT NULL -- lab/unit
    run text NOT NULL -- runs.id; empty outside a run.
    step text NOT NULL -- The step of the process, where the rule is about one.
    subject text NOT NULL -- What in particular, such as a container.
    priority text NOT NULL -- urgent (within minutes), high (within the hour) or low.
    state text NOT NULL -- unacknowledged, acknowledged, cleared-unacknowledged or closed.
    occurrence integer NOT NULL -- Rises by one when the condition returns before the alert is closed.
    raised_at timestamp with time zone NOT NULL -- On the unit's timeline, of the present occurrence.
    noticed_at timestamp with time zone NOT NULL -- Arrival time at which it was found out.
    found_afterwards boolean NOT NULL -- It had already ended when it was noticed; never paged.
    cleared_at timestamp with time zone -- On the unit's timeline; null while it lasts.
    acknowledged_at timestamp with time zone -- When a person acknowledged it.
    acknowledged_by text NOT NULL -- Who acknowledged it.
    shelved_until timestamp with time zone -- Shelving is an axis of its own, beside the state.
    shelved_by text NOT NULL -- Who shelved it.
    shelved_reason text NOT NULL -- Why it is shelved.
    withdrawn boolean NOT NULL -- Later evidence took it back; closed, never deleted.
    latched boolean NOT NULL -- Stays until a person acknowledges it.
    message text NOT NULL -- What is wrong.
    consequence text NOT NULL -- What happens if nobody acts.
    response text NOT NULL -- What to do.
    facts jsonb NOT NULL -- The figures it was judged by.
    first_id text NOT NULL -- Id of its first occurrence.
    last_occ_id text NOT NULL -- Id of the occurrence it stands at.
    former_ids text[] NOT NULL -- Ids of earlier occurrences, and those it had before late evidence moved its beginning.
    episodes jsonb NOT NULL -- Its occurrences, oldest first, with what was made of each: late evidence moves one or takes it back.
    updated_seq bigint NOT NULL -- Rises with every change of any alert.
    held text NOT NULL DEFAULT ''::text -- Why its pages are held back, shelving apart: out-of-service, lab-closed, chattering; empty where they are not.
    CONSTRAINT alerts_key PRIMARY KEY (id)
    CONSTRAINT alerts_occurrence_counts_from_one CHECK ((occurrence >= 1))
    CONSTRAINT alerts_priority_is_known CHECK ((priority = ANY (ARRAY['urgent'::text, 'high'::text, 'low'::text])))
    CONSTRAINT alerts_state_is_known CHECK ((state = ANY (ARRAY['unacknowledged'::text, 'acknowledged'::text, 'cleared-unacknowledged'::text, 'closed'::text])))
    CONSTRAINT alerts_withdrawn_is_closed CHECK (((NOT withdrawn) OR (state = 'closed'::text)))
    CREATE INDEX alerts_by_condition ON public.alerts USING btree (key, raised_at)
    CREATE INDEX alerts_by_former_id ON public.alerts USING gin (former_ids)
    CREATE INDEX alerts_by_last_occurrence ON public.alerts USING btree (last_occ_id)
    CREATE INDEX alerts_by_notice ON public.alerts USING btree (noticed_at)
    CREATE INDEX alerts_by_run ON public.alerts USING btree (run) WHERE (run <> ''::text)
    CREATE INDEX alerts_by_unit ON public.alerts USING btree (unit, raised_at DESC)
    CREATE UNIQUE INDEX alerts_key ON public.alerts USING btree (id)
    CREATE INDEX alerts_newest_first ON public.alerts USING btree (raised_at DESC, id)
    CREATE UNIQUE INDEX alerts_one_open_for_a_condition ON public.alerts USING btree (key) WHERE (state <> 'closed'::text)
TABLE arrival_counter -- One row: the last arrival number given. Telemetry, quarantine and entries share the sequence.
    only_row boolean NOT NULL DEFAULT true
    last bigint NOT NULL DEFAULT 0 -- The last number given.
    CONSTRAINT arrival_counter_has_one_row PRIMARY KEY (only_row)
    CONSTRAINT arrival_counter_only_row_is_true CHECK (only_row)
    CREATE UNIQUE INDEX arrival_counter_has_one_row ON public.arrival_counter USING btree (only_row)
TABLE book_lines -- Lines of the books that the lab writes by hand: rows are added, never changed nor deleted. The highest version of a line holds.
    n bigint NOT NULL
    book text NOT NULL -- mixes: what was mixed. waste: emptyings, weekly checks.
    id text NOT NULL -- The label of a mix; of an emptying of a unit's container the id of its entry.
    version integer NOT NULL -- 1 as first written; each correction counts one on.
    at timestamp with time zone NOT NULL -- When it was so.
    entered timestamp with time zone NOT NULL
    by text NOT NULL
    why text NOT NULL DEFAULT ''::text -- Why it was corrected; empty in the first version.
    body jsonb NOT NULL
    CONSTRAINT book_lines_are_of_a_book CHECK ((book = ANY (ARRAY['mixes'::text, 'waste'::text])))
    CONSTRAINT book_lines_count_versions_from_one CHECK ((version >= 1))
    CONSTRAINT book_lines_have_one_of_each_version UNIQUE (book, id, version)
    CONSTRAINT book_lines_key PRIMARY KEY (n)
    CONSTRAINT book_lines_say_why_they_are_corrected CHECK (((version = 1) OR (why <> ''::text)))
    CREATE UNIQUE INDEX book_lines_have_one_of_each_version ON public.book_lines USING btree (book, id, version)
    CREATE UNIQUE INDEX book_lines_key ON public.book_lines USING btree (n)
    CREATE TRIGGER book_lines_append_only BEFORE DELETE OR UPDATE ON public.book_lines FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER book_lines_never_emptied BEFORE TRUNCATE ON public.book_lines FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE contacts -- How people are reached.
    person text NOT NULL
    ways text[] NOT NULL -- In the order they are tried.
    mail text NOT NULL
    webhook text NOT NULL
    secret text NOT NULL -- The key that signs the webhook, whsec_...
    webhook_off timestamp with time zone -- When the other end said that it is gone (410).
    changed_by text NOT NULL
    changed_at timestamp with time zone NOT NULL
    CONSTRAINT contacts_are_of_a_person FOREIGN KEY (person) REFERENCES users(name) ON UPDATE CASCADE
    CONSTRAINT contacts_key PRIMARY KEY (person)
    CONSTRAINT contacts_ways_are_known CHECK ((ways <@ ARRAY['push'::text, 'webhook'::text, 'mail'::text]))
    CREATE UNIQUE INDEX contacts_key ON public.contacts USING btree (person)
TABLE duty_dark -- Whose phone must not light up, and until when.
    person text NOT NULL
    until timestamp with time zone NOT NULL
    CONSTRAINT duty_dark_key PRIMARY KEY (person)
    CREATE UNIQUE INDEX duty_dark_key ON public.duty_dark USING btree (person)
TABLE duty_log -- Who changed what about duty and contacts: rows are added, never changed nor deleted.
    id bigint NOT NULL
    at timestamp with time zone NOT NULL
    by text NOT NULL -- The person, or wetside.
    what text NOT NULL
    person text NOT NULL -- Whom it is about; empty where it is about nobody in particular.
    detail jsonb NOT NULL -- What it was changed to, secrets left out.
    CONSTRAINT duty_log_key PRIMARY KEY (id)
    CONSTRAINT duty_log_says_what CHECK ((what <> ''::text))
    CONSTRAINT duty_log_says_who CHECK ((by <> ''::text))
    CREATE INDEX duty_log_by_what ON public.duty_log USING btree (what, id)
    CREATE UNIQUE INDEX duty_log_key ON public.duty_log USING btree (id)
    CREATE TRIGGER duty_log_append_only BEFORE DELETE OR UPDATE ON public.duty_log FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER duty_log_never_emptied BEFORE TRUNCATE ON public.duty_log FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE duty_plans -- Every version of the duty plan; the highest is the one in force.
    version integer NOT NULL
    body jsonb NOT NULL
    changed_by text NOT NULL
    changed_at timestamp with time zone NOT NULL
    CONSTRAINT duty_plans_count_from_one CHECK ((version >= 1))
    CONSTRAINT duty_plans_key PRIMARY KEY (version)
    CREATE UNIQUE INDEX duty_plans_key ON public.duty_plans USING btree (version)
    CREATE TRIGGER duty_plans_append_only BEFORE DELETE OR UPDATE ON public.duty_plans FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER duty_plans_never_emptied BEFORE TRUNCATE ON public.duty_plans FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE duty_swaps -- One person in place of another, in the hours that begin on one day.
    id bigint NOT NULL
    day date NOT NULL
    off text NOT NULL
    on_duty text NOT NULL -- Empty where nobody stands in.
    note text NOT NULL
    by text NOT NULL
    at timestamp with time zone NOT NULL
    ended_by text NOT NULL DEFAULT ''::text
    ended_at timestamp with time zone
    CONSTRAINT duty_swaps_change_somebody CHECK (((off <> ''::text) AND (off <> on_duty)))
    CONSTRAINT duty_swaps_key PRIMARY KEY (id)
    CREATE INDEX duty_swaps_by_day ON public.duty_swaps USING btree (day) WHERE (ended_at IS NULL)
    CREATE UNIQUE INDEX duty_swaps_key ON public.duty_swaps USING btree (id)
TABLE entries -- What people stated, did or set: rows are added, never changed nor deleted. An entry is taken back by another.
    id text NOT NULL -- Short and random, or derived from what the sender called the request.
    arrival bigint NOT NULL -- Arrival number, of one sequence with telemetry and quarantine.
    unit text NOT NULL -- lab/unit
    run text NOT NULL -- runs.id; empty where it is of the unit.
    what text NOT NULL -- load, unload, container, turned-by-hand, drained, rolls, run-kind, decision, symptom, note, probe, house-aim, developer or takes-back.
    at timestamp with time zone NOT NULL -- When it was so.
    entered timestamp with time zone NOT NULL -- When it was entered.
    by text NOT NULL -- The person or the token.
    body json -- The particulars, as they were sent.
    imported boolean NOT NULL DEFAULT false -- It came with history that was read in from a capture: not part of what is watched live.
    CONSTRAINT entries_body_is_an_object CHECK ((json_typeof(body) = 'object'::text))
    CONSTRAINT entries_key PRIMARY KEY (id)
    CONSTRAINT entries_one_for_a_number UNIQUE (arrival)
    CONSTRAINT entries_say_by_whom CHECK ((by <> ''::text))
    CONSTRAINT entries_say_what CHECK ((what <> ''::text))
    CREATE INDEX entries_by_run ON public.entries USING btree (run, arrival) WHERE (run <> ''::text)
    CREATE INDEX entries_by_unit ON public.entries USING btree (unit, arrival)
    CREATE UNIQUE INDEX entries_key ON public.entries USING btree (id)
    CREATE INDEX entries_of_bottles ON public.entries USING btree (unit, arrival) WHERE (what = 'bottle'::text)
    CREATE UNIQUE INDEX entries_one_for_a_number ON public.entries USING btree (arrival)
    CREATE UNIQUE INDEX entries_taken_back_once ON public.entries USING btree (((body ->> 'id'::text))) WHERE (what = 'takes-back'::text)
    CREATE TRIGGER entries_append_only BEFORE DELETE OR UPDATE ON public.entries FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER entries_never_emptied BEFORE TRUNCATE ON public.entries FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE holder -- A row for each lab of this database: the lease of the one wetside that may write, and its term. A renewal changes no key and waits for nobody; who takes over locks the row against those who write.
    term bigint NOT NULL DEFAULT 0 -- Rises by one with each holder; writes with an older term are refused.
    app text NOT NULL DEFAULT ''::text -- What the holder calls itself.
    since timestamp with time zone -- When the term began.
    lab text NOT NULL DEFAULT ''::text -- Which lab: empty for the one that has the whole database.
    process text NOT NULL DEFAULT ''::text -- Tells one start of one program from all others.
    machine text NOT NULL DEFAULT ''::text -- The machine that it runs on, as people know it.
    address text NOT NULL DEFAULT ''::text -- Where another wetside reaches its pages and API; empty: nowhere.
    certificate text NOT NULL DEFAULT ''::text -- SHA-256 of the certificate it shows there, in hex; empty: none.
    session integer NOT NULL DEFAULT 0 -- Process id of the database session by which it renews.
    session_began timestamp with time zone -- When that session began: process ids come back.
    renewed_at timestamp with time zone -- When it was last renewed, by the clock of the database.
    expires_at timestamp with time zone -- When another may take over, by the clock of the database; null: held by a wetside of before, by a lock of its session.
    CONSTRAINT holder_key PRIMARY KEY (lab)
    CONSTRAINT holder_term_not_negative CHECK ((term >= 0))
    CREATE UNIQUE INDEX holder_key ON public.holder USING btree (lab)
TABLE lease_terms -- Who held a lab, for a month back: one that changes hands again and again is seen here.
    lab text NOT NULL
    term bigint NOT NULL
    process text NOT NULL
    machine text NOT NULL
    since timestamp with time zone NOT NULL -- When the term began, by the clock of the database.
    how text NOT NULL -- free: nobody held it; again: the same process as before; ended: the session of the one before had ended; expired: the one before did not renew.
    CONSTRAINT lease_terms_key PRIMARY KEY (lab, term)
    CONSTRAINT lease_terms_say_how CHECK ((how = ANY (ARRAY['free'::text, 'again'::text, 'ended'::text, 'expired'::text])))
    CREATE UNIQUE INDEX lease_terms_key ON public.lease_terms USING btree (lab, term)
TABLE links_withdrawn -- Links in pages made until then are good for nothing: those of a person, or those about an alert.
    person text NOT NULL -- Whose; empty for those about an alert.
    alert_id text NOT NULL -- About which alert; empty for those of a person.
    by text NOT NULL
    at timestamp with time zone NOT NULL
    CONSTRAINT links_withdrawn_key PRIMARY KEY (person, alert_id)
    CONSTRAINT links_withdrawn_of_one CHECK (((person = ''::text) <> (alert_id = ''::text)))
    CREATE UNIQUE INDEX links_withdrawn_key ON public.links_withdrawn USING btree (person, alert_id)
TABLE log_checkpoints -- Signed checkpoints: what the log was when it had so many leaves. Keep a copy of the last where nobody of the lab can reach it.
    size bigint NOT NULL
    note text NOT NULL -- Signed text: origin, leaves, root, time; see golang.org/x/mod/sumdb/note.
    CONSTRAINT log_checkpoints_key PRIMARY KEY (size)
    CONSTRAINT log_checkpoints_size_positive CHECK ((size > 0))
    CREATE UNIQUE INDEX log_checkpoints_key ON public.log_checkpoints USING btree (size)
    CREATE TRIGGER log_checkpoints_append_only BEFORE DELETE OR UPDATE ON public.log_checkpoints FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER log_checkpoints_never_emptied BEFORE TRUNCATE ON public.log_checkpoints FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE log_hashes -- Hashes of the log's tree, leaves and nodes, in the order of golang.org/x/mod/sumdb/tlog: what the next leaf is hashed with.
    index bigint NOT NULL
    hash bytea NOT NULL
    CONSTRAINT log_hashes_hash_is_sha256 CHECK ((length(hash) = 32))
    CONSTRAINT log_hashes_key PRIMARY KEY (index)
    CREATE UNIQUE INDEX log_hashes_key ON public.log_hashes USING btree (index)
    CREATE TRIGGER log_hashes_append_only BEFORE DELETE OR UPDATE ON public.log_hashes FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER log_hashes_never_emptied BEFORE TRUNCATE ON public.log_hashes FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE log_keys -- Verifier keys that signed checkpoints: a convenience. Who doubts the database brings the key along.
    verifier text NOT NULL
    CONSTRAINT log_keys_key PRIMARY KEY (verifier)
    CREATE UNIQUE INDEX log_keys_key ON public.log_keys USING btree (verifier)
    CREATE TRIGGER log_keys_append_only BEFORE DELETE OR UPDATE ON public.log_keys FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER log_keys_never_emptied BEFORE TRUNCATE ON public.log_keys FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE log_leaves -- The log of records: one leaf for each, never changed nor deleted. A seal proves "unchanged since", not "true" nor "complete".
    leaf bigint NOT NULL -- Place in the log, counted from 0.
    kind text NOT NULL -- run: in records. entry: in record_entries.
    subject text NOT NULL -- runs.id or entries.id.
    hash bytea NOT NULL -- RFC 6962 leaf hash of the record.
    CONSTRAINT log_leaves_count_from_zero CHECK ((leaf >= 0))
    CONSTRAINT log_leaves_hash_is_sha256 CHECK ((length(hash) = 32))
    CONSTRAINT log_leaves_key PRIMARY KEY (leaf)
    CONSTRAINT log_leaves_kind_is_known CHECK ((kind = ANY (ARRAY['run'::text, 'entry'::text])))
    CREATE UNIQUE INDEX log_leaves_key ON public.log_leaves USING btree (leaf)
    CREATE TRIGGER log_leaves_append_only BEFORE DELETE OR UPDATE ON public.log_leaves FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER log_leaves_never_emptied BEFORE TRUNCATE ON public.log_leaves FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE outbox -- Pages to people, committed together with the change that calls for them.
    id bigint NOT NULL
    alert_id text NOT NULL
    occurrence integer NOT NULL
    step integer NOT NULL -- Step of the escalation.
    priority text NOT NULL
    created_at timestamp with time zone NOT NULL
    delivered_at timestamp with time zone -- When the first message about it was taken by the other end.
    taken_at timestamp with time zone -- When it became part of a case; null while it is new.
    CONSTRAINT outbox_is_of_an_alert FOREIGN KEY (alert_id) REFERENCES alerts(id) ON UPDATE CASCADE
    CONSTRAINT outbox_key PRIMARY KEY (id)
    CONSTRAINT outbox_pages_once UNIQUE (alert_id, occurrence, step)
    CREATE UNIQUE INDEX outbox_key ON public.outbox USING btree (id)
    CREATE INDEX outbox_new ON public.outbox USING btree (id) WHERE (taken_at IS NULL)
    CREATE UNIQUE INDEX outbox_pages_once ON public.outbox USING btree (alert_id, occurrence, step)
    CREATE INDEX outbox_waiting ON public.outbox USING btree (id) WHERE (delivered_at IS NULL)
TABLE page_cases -- What people are called about until somebody answers.
    id bigint NOT NULL
    grouped text NOT NULL -- What its alerts have in common.
    priority text NOT NULL
    opened_at timestamp with time zone NOT NULL
    step integer NOT NULL -- Steps of the escalation made so far, repeats included.
    base integer NOT NULL -- The step at which the present ladder began: what becomes more pressing starts it anew.
    due_at timestamp with time zone NOT NULL -- When the next step is due.
    ended_at timestamp with time zone
    why text NOT NULL -- Why it ended.
    CONSTRAINT page_cases_key PRIMARY KEY (id)
    CONSTRAINT page_cases_priority_is_known CHECK ((priority = ANY (ARRAY['urgent'::text, 'high'::text, 'low'::text])))
    CONSTRAINT page_cases_step_counts CHECK (((step >= base) AND (base >= 0)))
    CREATE UNIQUE INDEX page_cases_key ON public.page_cases USING btree (id)
    CREATE UNIQUE INDEX page_cases_one_open_for_a_cause ON public.page_cases USING btree (grouped) WHERE (ended_at IS NULL)
TABLE page_deliveries -- Every try of every message: rows are added, never changed nor deleted.
    id bigint NOT NULL
    message_id text NOT NULL
    person text NOT NULL
    try integer NOT NULL
    at timestamp with time zone NOT NULL
    took_ms integer NOT NULL
    way text NOT NULL
    outcome text NOT NULL
    detail text NOT NULL
    CONSTRAINT page_deliveries_are_of_a_message FOREIGN KEY (message_id) REFERENCES page_messages(id)
    CONSTRAINT page_deliveries_key PRIMARY KEY (id)
    CONSTRAINT page_deliveries_outcome_is_known CHECK ((outcome = ANY (ARRAY['sent'::text, 'failed'::text, 'gone'::text, 'unavailable'::text])))
    CREATE INDEX page_deliveries_by_message ON public.page_deliveries USING btree (message_id, id)
    CREATE UNIQUE INDEX page_deliveries_key ON public.page_deliveries USING btree (id)
    CREATE TRIGGER page_deliveries_append_only BEFORE DELETE OR UPDATE ON public.page_deliveries FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER page_deliveries_never_emptied BEFORE TRUNCATE ON public.page_deliveries FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE page_log -- What was done by way of the links in messages: rows are added, never changed nor deleted.
    id bigint NOT NULL
    message_id text NOT NULL
    at timestamp with time zone NOT NULL
    person text NOT NULL
    what text NOT NULL
    alert_id text NOT NULL
    detail text NOT NULL
    CONSTRAINT page_log_is_of_a_message FOREIGN KEY (message_id) REFERENCES page_messages(id)
    CONSTRAINT page_log_key PRIMARY KEY (id)
    CREATE INDEX page_log_by_message ON public.page_log USING btree (message_id, id)
    CREATE UNIQUE INDEX page_log_key ON public.page_log USING btree (id)
    CREATE TRIGGER page_log_append_only BEFORE DELETE OR UPDATE ON public.page_log FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER page_log_never_emptied BEFORE TRUNCATE ON public.page_log FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE page_members -- The occurrences of alerts that a case is about.
    case_id bigint NOT NULL
    alert_id text NOT NULL
    occurrence integer NOT NULL
    priority text NOT NULL
    since timestamp with time zone NOT NULL
    answered_at timestamp with time zone
    answered_by text NOT NULL DEFAULT ''::text
    CONSTRAINT page_members_are_alerts FOREIGN KEY (alert_id) REFERENCES alerts(id) ON UPDATE CASCADE
    CONSTRAINT page_members_are_of_a_case FOREIGN KEY (case_id) REFERENCES page_cases(id)
    CONSTRAINT page_members_key PRIMARY KEY (case_id, alert_id, occurrence)
    CREATE INDEX page_members_by_alert ON public.page_members USING btree (alert_id)
    CREATE UNIQUE INDEX page_members_key ON public.page_members USING btree (case_id, alert_id, occurrence)
TABLE page_messages -- What goes to people. A row is there, and its try counted, before anything is sent.
    id text NOT NULL -- Stays the same in each copy, so that the other end can drop all but one.
    person text NOT NULL
    priority text NOT NULL
    created_at timestamp with time zone NOT NULL
    body jsonb NOT NULL -- Fixed before the first try: a copy says the same.
    only_way text NOT NULL
    tries integer NOT NULL
    next_try timestamp with time zone NOT NULL -- When to try again if nothing more is heard of the last try.
    sent_at timestamp with time zone
    sent_by text NOT NULL DEFAULT ''::text -- The way by which the other end took it.
    dropped_at timestamp with time zone
    why text NOT NULL DEFAULT ''::text -- Why it was dropped.
    CONSTRAINT page_messages_end_once CHECK (((sent_at IS NULL) OR (dropped_at IS NULL)))
    CONSTRAINT page_messages_key PRIMARY KEY (id)
    CREATE INDEX page_messages_by_person ON public.page_messages USING btree (person, created_at DESC)
    CREATE UNIQUE INDEX page_messages_key ON public.page_messages USING btree (id)
    CREATE INDEX page_messages_waiting ON public.page_messages USING btree (person, created_at) WHERE ((sent_at IS NULL) AND (dropped_at IS NULL))
TABLE pages -- One step's page to one person.
    id bigint NOT NULL
    case_id bigint NOT NULL
    step integer NOT NULL
    person text NOT NULL
    priority text NOT NULL
    not_before timestamp with time zone NOT NULL -- Held until then: the person works in the dark.
    created_at timestamp with time zone NOT NULL
    message_id text
    dropped_at timestamp with time zone
    why text NOT NULL DEFAULT ''::text -- Why it was dropped.
    CONSTRAINT pages_are_of_a_case FOREIGN KEY (case_id) REFERENCES page_cases(id)
    CONSTRAINT pages_go_in_a_message FOREIGN KEY (message_id) REFERENCES page_messages(id)
    CONSTRAINT pages_key PRIMARY KEY (id)
    CONSTRAINT pages_once UNIQUE (case_id, step, person)
    CREATE INDEX pages_by_message ON public.pages USING btree (message_id) WHERE (message_id IS NOT NULL)
    CREATE UNIQUE INDEX pages_key ON public.pages USING btree (id)
    CREATE UNIQUE INDEX pages_once ON public.pages USING btree (case_id, step, person)
    CREATE INDEX pages_waiting ON public.pages USING btree (person, id) WHERE ((message_id IS NULL) AND (dropped_at IS NULL))
TABLE preferences -- How each person wants the pages: units of measure, light or dark, sound.
    person text NOT NULL
    body jsonb NOT NULL
    CONSTRAINT preferences_are_of_a_person FOREIGN KEY (person) REFERENCES users(name) ON UPDATE CASCADE
    CONSTRAINT preferences_key PRIMARY KEY (person)
    CREATE UNIQUE INDEX preferences_key ON public.preferences USING btree (person)
TABLE push_subscriptions -- Browsers of phones that take pages (RFC 8030).
    id bigint NOT NULL
    person text NOT NULL
    device text NOT NULL
    endpoint text NOT NULL
    p256dh text NOT NULL
    auth text NOT NULL
    at timestamp with time zone NOT NULL
    CONSTRAINT push_subscriptions_are_of_a_person FOREIGN KEY (person) REFERENCES users(name) ON UPDATE CASCADE
    CONSTRAINT push_subscriptions_key PRIMARY KEY (id)
    CONSTRAINT push_subscriptions_one_a_browser UNIQUE (endpoint)
    CREATE UNIQUE INDEX push_subscriptions_key ON public.push_subscriptions USING btree (id)
    CREATE UNIQUE INDEX push_subscriptions_one_a_browser ON public.push_subscriptions USING btree (endpoint)
TABLE quarantine -- Messages that were refused, whole, with the reason.
    arrival bigint NOT NULL -- Arrival number, of one sequence with telemetry.
    received_at timestamp with time zone NOT NULL -- When wetside received it.
    topic text NOT NULL -- The topic; what PostgreSQL cannot hold in a text shows as U+FFFD.
    unit text -- lab/unit, where the topic names one.
    reason text NOT NULL -- A short code, a colon and the particulars.
    payload bytea NOT NULL -- The payload, byte for byte as received.
    imported boolean NOT NULL DEFAULT false -- It came with history that was read in from a capture.
    content bytea NOT NULL -- SHA-256 of topic, a zero byte and payload.
    keyed boolean NOT NULL DEFAULT false -- Boot and seq can be read in it: the same content is the same message, whenever it comes.
    times bigint NOT NULL DEFAULT 1 -- How often it was received; without boot and seq: with no long time in between.
    last_at timestamp with time zone NOT NULL -- When it was received last.
    CONSTRAINT quarantine_has_a_reason CHECK ((reason <> ''::text))
    CONSTRAINT quarantine_key PRIMARY KEY (arrival)
    CREATE INDEX quarantine_content ON public.quarantine USING btree (content, last_at)
    CREATE UNIQUE INDEX quarantine_key ON public.quarantine USING btree (arrival)
    CREATE INDEX quarantine_of_unit ON public.quarantine USING btree (unit, arrival DESC) WHERE (unit IS NOT NULL)
    CREATE UNIQUE INDEX quarantine_once ON public.quarantine USING btree (received_at, md5(topic), md5(payload))
TABLE quarantine_again -- Refused messages that were received again and name no boot and seq, for whoever counts arrivals: that they were received, not what. Kept for some days.
    arrival bigint NOT NULL
    first bigint NOT NULL -- quarantine.arrival of the row that holds it.
    received_at timestamp with time zone NOT NULL
    CONSTRAINT quarantine_again_key PRIMARY KEY (arrival)
    CREATE INDEX quarantine_again_by_time ON public.quarantine_again USING btree (received_at)
    CREATE UNIQUE INDEX quarantine_again_key ON public.quarantine_again USING btree (arrival)
TABLE record_entries -- What people entered, sealed soon after: a second copy of each row of entries, with its place in the log.
    leaf bigint NOT NULL
    entry text NOT NULL -- entries.id
    arrival bigint NOT NULL -- entries.arrival: what is sealed next is behind the highest.
    body bytea NOT NULL -- The record, one line of JSON.
    CONSTRAINT record_entries_are_in_the_log FOREIGN KEY (leaf) REFERENCES log_leaves(leaf)
    CONSTRAINT record_entries_follow_arrival UNIQUE (arrival)
    CONSTRAINT record_entries_key PRIMARY KEY (leaf)
    CONSTRAINT record_entries_seal_an_entry_once UNIQUE (entry)
    CREATE UNIQUE INDEX record_entries_follow_arrival ON public.record_entries USING btree (arrival)
    CREATE UNIQUE INDEX record_entries_key ON public.record_entries USING btree (leaf)
    CREATE UNIQUE INDEX record_entries_seal_an_entry_once ON public.record_entries USING btree (entry)
    CREATE TRIGGER record_entries_append_only BEFORE DELETE OR UPDATE ON public.record_entries FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER record_entries_never_emptied BEFORE TRUNCATE ON public.record_entries FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE record_parts -- Messages of runs that are too long for one row of records, in arrival order.
    run text NOT NULL -- runs.id
    n integer NOT NULL -- Place among the parts of the record, counted from 1.
    leaf bigint -- The record that it is part of; null while that is being made.
    messages integer NOT NULL -- Messages in it.
    size integer NOT NULL -- Length of the part in bytes.
    packed_hash bytea NOT NULL -- SHA-256 of packed.
    packed bytea NOT NULL -- The part, JSON Lines, compressed with Zstandard (RFC 8878).
    CONSTRAINT record_parts_are_of_a_record FOREIGN KEY (leaf) REFERENCES records(leaf)
    CONSTRAINT record_parts_count_from_one CHECK ((n >= 1))
    CREATE UNIQUE INDEX record_parts_drafts ON public.record_parts USING btree (run, n) WHERE (leaf IS NULL)
    CREATE UNIQUE INDEX record_parts_key ON public.record_parts USING btree (leaf, n) WHERE (leaf IS NOT NULL)
    CREATE TRIGGER record_parts_append_only BEFORE DELETE OR UPDATE ON public.record_parts FOR EACH ROW WHEN ((old.leaf IS NOT NULL)) EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER record_parts_never_emptied BEFORE TRUNCATE ON public.record_parts FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE record_queue -- Runs that ended or changed and wait for their record.
    run text NOT NULL
    ended_at timestamp with time zone NOT NULL -- The end of the run by the unit's clock, or when it was noticed, whichever came first.
    noticed_at timestamp with time zone NOT NULL -- When it was first seen to have ended.
    changed_at timestamp with time zone NOT NULL -- When what is known of it last changed.
    changes bigint NOT NULL DEFAULT 1 -- Rises with each change: what changed while its record was made waits on.
    open_gap boolean NOT NULL -- A hole in what was heard of it may still be filled.
    before_tried boolean NOT NULL DEFAULT false -- The state of the fold before the run was looked for.
    before_version integer -- Version of before_state.
    before_state bytea -- The state of the fold before the run, kept as long as the fold still has it.
    put_off timestamp with time zone -- Not before this: its record could not be made.
    failures integer NOT NULL DEFAULT 0 -- How often its record could not be made.
    failed_at timestamp with time zone -- When that was so for the first time.
    failed_why text NOT NULL DEFAULT ''::text -- Why, the last time.
    CONSTRAINT record_queue_key PRIMARY KEY (run)
    CREATE UNIQUE INDEX record_queue_key ON public.record_queue USING btree (run)
TABLE records -- One row for each sealed record of a run; later evidence makes a new row that names the one it supersedes, and both stay.
    leaf bigint NOT NULL -- Place in the log.
    run text NOT NULL -- runs.id
    unit text NOT NULL
    process text NOT NULL
    push double precision NOT NULL
    started_at timestamp with time zone NOT NULL
    sealed_at timestamp with time zone NOT NULL -- When wetside sealed it.
    supersedes bigint -- The record of the same run before this one.
    good boolean NOT NULL -- It counts among the good runs that others are compared with.
    features bytea NOT NULL -- The figures of the run that others are compared with, as they stand in the record.
    size integer NOT NULL -- Length of the record in bytes.
    packed_hash bytea NOT NULL -- SHA-256 of packed.
    packed bytea NOT NULL -- The record, JSON Lines, compressed with Zstandard (RFC 8878).
    CONSTRAINT records_are_in_the_log FOREIGN KEY (leaf) REFERENCES log_leaves(leaf)
    CONSTRAINT records_are_superseded_once UNIQUE (supersedes)
    CONSTRAINT records_key PRIMARY KEY (leaf)
    CONSTRAINT records_supersede_a_record FOREIGN KEY (supersedes) REFERENCES records(leaf)
    CONSTRAINT records_supersede_what_was CHECK ((supersedes < leaf))
    CREATE UNIQUE INDEX records_are_superseded_once ON public.records USING btree (supersedes)
    CREATE INDEX records_by_run ON public.records USING btree (run, leaf)
    CREATE INDEX records_by_start ON public.records USING btree (started_at)
    CREATE UNIQUE INDEX records_first_of_a_run ON public.records USING btree (run) WHERE (supersedes IS NULL)
    CREATE INDEX records_good ON public.records USING btree (unit, process, push, started_at) WHERE good
    CREATE UNIQUE INDEX records_key ON public.records USING btree (leaf)
    CREATE TRIGGER records_append_only BEFORE DELETE OR UPDATE ON public.records FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER records_never_emptied BEFORE TRUNCATE ON public.records FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE roll_changes -- Who said what of a roll, and when: rows are added, never changed nor deleted.
    n bigint NOT NULL
    twin_check text NOT NULL
    at timestamp with time zone NOT NULL
    by text NOT NULL
    how text NOT NULL -- list, load, run (entered of a run), stop or removed.
    body jsonb NOT NULL -- What was known of the roll from then on.
    CONSTRAINT roll_changes_key PRIMARY KEY (n)
    CONSTRAINT roll_changes_say_how CHECK ((how = ANY (ARRAY['list'::text, 'load'::text, 'run'::text, 'stop'::text, 'removed'::text])))
    CREATE INDEX roll_changes_by_roll ON public.roll_changes USING btree (twin_check, n)
    CREATE UNIQUE INDEX roll_changes_key ON public.roll_changes USING btree (n)
    CREATE TRIGGER roll_changes_append_only BEFORE DELETE OR UPDATE ON public.roll_changes FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER roll_changes_never_emptied BEFORE TRUNCATE ON public.roll_changes FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE rolls -- What is known of a roll: what it wants, whose it is, when it is promised.
    twin_check text NOT NULL
    process text NOT NULL DEFAULT ''::text -- Process id; empty where nobody said.
    push double precision -- Stops; null where nobody said.
    film text NOT NULL DEFAULT ''::text
    format text NOT NULL DEFAULT ''::text
    order_name text NOT NULL DEFAULT ''::text
    due_at timestamp with time zone
    note text NOT NULL DEFAULT ''::text
    stop text NOT NULL DEFAULT ''::text -- Why it must not be run; empty where it may.
    entered_at timestamp with time zone NOT NULL -- When it was first heard of.
    entered_by text NOT NULL
    changed_at timestamp with time zone NOT NULL -- When what is known of it last changed. After 60 days the number is taken for that of another roll.
    changed_by text NOT NULL
    CONSTRAINT rolls_are_named_by_twin_checks CHECK ((twin_check ~ '^[0-9A-Z]([0-9A-Z-]{0,30}[0-9A-Z])?$'::text))
    CONSTRAINT rolls_key PRIMARY KEY (twin_check)
    CREATE INDEX rolls_by_change ON public.rolls USING btree (changed_at)
    CREATE UNIQUE INDEX rolls_key ON public.rolls USING btree (twin_check)
TABLE runs -- Runs: what is searched for in columns, the whole record in body.
    id text NOT NULL -- Derived from unit and run.
    unit text NOT NULL
    run text NOT NULL -- The unit's own name of the run.
    process text NOT NULL
    push double precision NOT NULL
    kind text NOT NULL
    started_at timestamp with time zone NOT NULL
    ended_at timestamp with time zone
    outcome text NOT NULL
    verdict text
    rolls text[] NOT NULL -- Twin checks of the rolls in it, in capitals: those loaded and those scanned since.
    body jsonb NOT NULL -- The run as the API gives it.
    imported boolean NOT NULL DEFAULT false -- It is known from imported history only; an import never changes a run that was watched live.
    loaded jsonb NOT NULL DEFAULT '[]'::jsonb -- The rolls of the load that was in force when it began, as the fold says.
    folded_kind text NOT NULL DEFAULT ''::text -- The kind of run as the fold says; kind is what a person corrected it to.
    orders text[] NOT NULL DEFAULT '{}'::text[] -- Orders of its rolls, in capitals.
    decision text -- What a person decided; null while nobody has.
    decided boolean NOT NULL DEFAULT false -- A person decided on the run, or on each roll of it.
    roll_decisions text[] NOT NULL DEFAULT '{}'::text[] -- Every decision that holds for the run or one of its rolls.
    rolls_again text[] NOT NULL DEFAULT '{}'::text[] -- Twin checks of the rolls that are to be processed again, in capitals.
    CONSTRAINT runs_decision_is_known CHECK ((decision = ANY (ARRAY['release'::text, 'hold'::text, 'reprocess'::text, 'correct'::text, 'lost'::text])))
    CONSTRAINT runs_key PRIMARY KEY (id)
    CONSTRAINT runs_outcome_is_known CHECK ((outcome = ANY (ARRAY['running'::text, 'done'::text, 'aborted'::text, 'lost'::text])))
    CONSTRAINT runs_verdict_is_known CHECK ((verdict = ANY (ARRAY['in-control'::text, 'inspect'::text, 'out-of-control'::text])))
    CREATE INDEX runs_by_name ON public.runs USING btree (lower(run) text_pattern_ops)
    CREATE INDEX runs_by_order ON public.runs USING gin (orders)
    CREATE INDEX runs_by_roll ON public.runs USING gin (rolls)
    CREATE INDEX runs_by_unit ON public.runs USING btree (unit, started_at DESC)
    CREATE UNIQUE INDEX runs_key ON public.runs USING btree (id)
    CREATE INDEX runs_newest_first ON public.runs USING btree (started_at DESC, id)
    CREATE TRIGGER runs_wait_for_their_record AFTER INSERT OR UPDATE ON public.runs FOR EACH ROW EXECUTE FUNCTION queue_record()
TABLE sessions -- Signed-in sessions of the pages.
    token text NOT NULL
    data bytea NOT NULL
    expiry timestamp with time zone NOT NULL
    CONSTRAINT sessions_key PRIMARY KEY (token)
    CREATE INDEX sessions_by_expiry ON public.sessions USING btree (expiry)
    CREATE UNIQUE INDEX sessions_key ON public.sessions USING btree (token)
TABLE setting_changes -- Every change of a setting: rows are added, never changed nor deleted.
    id bigint NOT NULL
    key text NOT NULL -- house, or unit lab/unit.
    value jsonb NOT NULL -- What it was changed to.
    by text NOT NULL
    at timestamp with time zone NOT NULL
    CONSTRAINT setting_changes_key PRIMARY KEY (id)
    CONSTRAINT setting_changes_say_who CHECK ((by <> ''::text))
    CREATE INDEX setting_changes_by_key ON public.setting_changes USING btree (key, id)
    CREATE UNIQUE INDEX setting_changes_key ON public.setting_changes USING btree (id)
    CREATE TRIGGER setting_changes_append_only BEFORE DELETE OR UPDATE ON public.setting_changes FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER setting_changes_never_emptied BEFORE TRUNCATE ON public.setting_changes FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE settings -- Settings of the whole lab, by name.
    key text NOT NULL
    value bytea NOT NULL
    changed_at timestamp with time zone NOT NULL
    CONSTRAINT settings_key PRIMARY KEY (key)
    CREATE UNIQUE INDEX settings_key ON public.settings USING btree (key)
TABLE sheet_changes -- Every change of a process sheet: rows are added, never changed nor deleted. A run is judged by what was in force when it began.
    id bigint NOT NULL
    process text NOT NULL
    body text NOT NULL -- In the form of a sheet's file; empty: back to what the program and the lab's folder have.
    by text NOT NULL
    at timestamp with time zone NOT NULL
    CONSTRAINT sheet_changes_key PRIMARY KEY (id)
    CONSTRAINT sheet_changes_name_a_process CHECK ((process <> ''::text))
    CONSTRAINT sheet_changes_say_who CHECK ((by <> ''::text))
    CREATE UNIQUE INDEX sheet_changes_key ON public.sheet_changes USING btree (id)
    CREATE TRIGGER sheet_changes_append_only BEFORE DELETE OR UPDATE ON public.sheet_changes FOR EACH ROW EXECUTE FUNCTION refuse_change()
    CREATE TRIGGER sheet_changes_never_emptied BEFORE TRUNCATE ON public.sheet_changes FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()
TABLE standbys -- Who stands by for a lab, as of a moment ago.
    lab text NOT NULL
    process text NOT NULL
    machine text NOT NULL
    address text NOT NULL
    certificate text NOT NULL
    seen_at timestamp with time zone NOT NULL -- When it last said so, by the clock of the database.
    CONSTRAINT standbys_key PRIMARY KEY (lab, process)
    CREATE UNIQUE INDEX standbys_key ON public.standbys USING btree (lab, process)
TABLE telemetry PARTITION BY RANGE (sent_at) -- Every telemetry message once, as received and in typed columns; a partition for each UTC day of sent_at.
    arrival bigint NOT NULL -- Rises in the order of commits, over telemetry and quarantine together.
    unit text NOT NULL -- lab/unit
    channel text NOT NULL -- status, step, temp, tank, power or motion: the last part of the topic.
    boot text NOT NULL -- New at each start of the unit's controller; empty for a last will.
    seq bigint NOT NULL -- Counts from 1 in each boot over all channels; 0 for a last will.
    sent_at timestamp with time zone NOT NULL -- The time as the unit sent it, right or wrong; the arrival time for a last will.
    at timestamp with time zone NOT NULL -- The time that counts: sent_at, or received_at where the unit's clock cannot be right.
    at_replaced boolean NOT NULL -- True where at is the arrival time in place of what the unit sent.
    received_at timestamp with time zone NOT NULL -- When wetside received it.
    up_s double precision -- Seconds since the controller started.
    retained boolean NOT NULL -- The broker's retained copy, not a live message.
    will boolean NOT NULL -- The last will: the broker lost the unit.
    imported boolean NOT NULL DEFAULT false -- History that was read in from a capture: not part of what is watched live.
    payload bytea NOT NULL -- The payload, byte for byte as received.
    online boolean -- status: true; false in the last will.
    model text -- status: model of the processor.
    firmware text -- status: version of its program.
    processes text[] -- status: ids of the processes it can run.
    containers jsonb -- status: its tanks and bottles, {name: {role, capacity_l}}.
    phase text -- step: idle, heating, filling, in-bath, draining, waiting, drying, done or aborted.
    run text -- step: the unit's own name of the run.
    process text -- step: process id, such as c41.
    push double precision -- step: push in stops; pull is negative.
    step text -- step: the step's id, such as developer.
    n bigint -- step: number of the step in the run.
    of_n bigint -- step: number of steps of the run.
    set_s double precision -- step: set time in seconds.
    elapsed_s double precision -- step: seconds gone, as the unit counts.
    fill_ml double precision -- step: volume of one fill in millilitres.
    set_c double precision -- step: set temperature in degrees Celsius.
    draw_from text -- step: container the liquid comes from.
    drain_to text -- step: container the liquid drains to.
    waits_for text -- step: what a waiting unit wants of a person.
    kind text -- step: film, strip, flush, water or prime.
    bath_c double precision -- temp: the liquid on the film, degrees Celsius.
    preheat_c double precision -- temp: the bath being heated for the next step, degrees Celsius.
    wash_c double precision -- temp: in the wash tank, degrees Celsius.
    dryer_c double precision -- temp: in the dryer, degrees Celsius.
    room_c double precision -- temp: of the room, degrees Celsius.
    levels_l jsonb -- tank: {container: litres}.
    full_containers text[] -- tank: containers whose float switch is closed.
    power_source text -- power: mains or battery.
    power_event text -- power: lost, restored or resumed.
    outage_s double precision -- power: how long the mains were away, seconds.
    battery_pct double precision -- power: charge of the battery, percent.
    rpm double precision -- motion: rotation in turns a minute, never negative.
    reversals double precision -- motion: reversals of the rotation.
    CONSTRAINT telemetry_channel_is_known CHECK ((channel = ANY (ARRAY['status'::text, 'step'::text, 'temp'::text, 'tank'::text, 'power'::text, 'motion'::text])))
    CONSTRAINT telemetry_key PRIMARY KEY (unit, boot, seq, sent_at)
    CONSTRAINT telemetry_only_a_will_has_no_key CHECK (((will = (boot = ''::text)) AND (will = (seq < 1))))
    CREATE INDEX telemetry_arrival ON ONLY public.telemetry USING btree (arrival) WHERE (NOT imported)
    CREATE UNIQUE INDEX telemetry_key ON ONLY public.telemetry USING btree (unit, boot, seq, sent_at)
    CREATE INDEX telemetry_replaced ON ONLY public.telemetry USING btree (unit, at) WHERE at_replaced
TABLE telemetry_default -- Telemetry of days without a partition of their own, such as 1970 from a controller that lost its clock.
    arrival bigint NOT NULL
    unit text NOT NULL
    channel text NOT NULL
    boot text NOT NULL
    seq bigint NOT NULL
    sent_at timestamp with time zone NOT NULL
    at timestamp with time zone NOT NULL
    at_replaced boolean NOT NULL
    received_at timestamp with time zone NOT NULL
    up_s double precision
    retained boolean NOT NULL
    will boolean NOT NULL
    imported boolean NOT NULL DEFAULT false
    payload bytea NOT NULL
    online boolean
    model text
    firmware text
    processes text[]
    containers jsonb
    phase text
    run text
    process text
    push double precision
    step text
    n bigint
    of_n bigint
    set_s double precision
    elapsed_s double precision
    fill_ml double precision
    set_c double precision
    draw_from text
    drain_to text
    waits_for text
    kind text
    bath_c double precision
    preheat_c double precision
    wash_c double precision
    dryer_c double precision
    room_c double precision
    levels_l jsonb
    full_containers text[]
    power_source text
    power_event text
    outage_s double precision
    battery_pct double precision
    rpm double precision
    reversals double precision
    CONSTRAINT telemetry_channel_is_known CHECK ((channel = ANY (ARRAY['status'::text, 'step'::text, 'temp'::text, 'tank'::text, 'power'::text, 'motion'::text])))
    CONSTRAINT telemetry_default_pkey PRIMARY KEY (unit, boot, seq, sent_at)
    CONSTRAINT telemetry_only_a_will_has_no_key CHECK (((will = (boot = ''::text)) AND (will = (seq < 1))))
    CREATE INDEX telemetry_default_arrival_idx ON public.telemetry_default USING btree (arrival) WHERE (NOT imported)
    CREATE UNIQUE INDEX telemetry_default_pkey ON public.telemetry_default USING btree (unit, boot, seq, sent_at)
    CREATE INDEX telemetry_default_unit_at_idx ON public.telemetry_default USING btree (unit, at) WHERE at_replaced
VIEW telemetry_motion -- The rotation that agitates the film.
    arrival bigint
    unit text
    boot text
    seq bigint
    at timestamp with time zone
    received_at timestamp with time zone
    up_s double precision
    rpm double precision
    reversals double precision
VIEW telemetry_power -- Mains, battery, and what happened to them.
    arrival bigint
    unit text
    boot text
    seq bigint
    at timestamp with time zone
    received_at timestamp with time zone
    up_s double precision
    power_source text
    power_event text
    outage_s double precision
    battery_pct double precision
VIEW telemetry_status -- What units say of themselves at every connection, and their last wills.
    arrival bigint
    unit text
    boot text
    seq bigint
    at timestamp with time zone
    received_at timestamp with time zone
    retained boolean
    will boolean
    online boolean
    model text
    firmware text
    processes text[]
    containers jsonb
VIEW telemetry_step -- Where each unit stood in its run.
    arrival bigint
    unit text
    boot text
    seq bigint
    at timestamp with time zone
    received_at timestamp with time zone
    up_s double precision
    phase text
    run text
    process text
    push double precision
    step text
    n bigint
    of_n bigint
    set_s double precision
    elapsed_s double precision
    fill_ml double precision
    set_c double precision
    draw_from text
    drain_to text
    waits_for text
    kind text
VIEW telemetry_tank -- Container levels in litres and closed float switches.
    arrival bigint
    unit text
    boot text
    seq bigint
    at timestamp with time zone
    received_at timestamp with time zone
    up_s double precision
    levels_l jsonb
    full_containers text[]
VIEW telemetry_temp -- Temperature readings, degrees Celsius.
    arrival bigint
    unit text
    boot text
    seq bigint
    at timestamp with time zone
    received_at timestamp with time zone
    up_s double precision
    bath_c double precision
    preheat_c double precision
    wash_c double precision
    dryer_c double precision
    room_c double precision
TABLE tokens -- API tokens; the token itself is shown once and not kept.
    name text NOT NULL
    role text NOT NULL
    hash bytea NOT NULL -- SHA-256 of the token.
    created_at timestamp with time zone NOT NULL
    expires_at timestamp with time zone -- When it ends; null for a screen's link, which holds until it is withdrawn.
    last_used_at timestamp with time zone -- When it was last shown, to the minute.
    CONSTRAINT tokens_hash_names_one UNIQUE (hash)
    CONSTRAINT tokens_key PRIMARY KEY (name)
    CONSTRAINT tokens_name_not_empty CHECK ((name <> ''::text))
    CONSTRAINT tokens_role_is_known CHECK ((role = ANY (ARRAY['viewer'::text, 'operator'::text, 'lead'::text])))
    CREATE UNIQUE INDEX tokens_hash_names_one ON public.tokens USING btree (hash)
    CREATE UNIQUE INDEX tokens_key ON public.tokens USING btree (name)
TABLE unit_keys -- Keys by which units beyond loopback reach the embedded broker, one a unit.
    unit text NOT NULL
    hash bytea NOT NULL -- Hash of the key; the key itself is shown once and not kept.
    created_at timestamp with time zone NOT NULL
    CONSTRAINT unit_keys_key PRIMARY KEY (unit)
    CREATE UNIQUE INDEX unit_keys_key ON public.unit_keys USING btree (unit)
TABLE unit_refusals -- What the broker did not let in, by unit, the newest 20 of each.
    unit text NOT NULL
    what text NOT NULL
    reason text NOT NULL
    source text NOT NULL
    first_at timestamp with time zone NOT NULL
    last_at timestamp with time zone NOT NULL
    count bigint NOT NULL
    CONSTRAINT unit_refusals_are_counted CHECK ((count > 0))
    CONSTRAINT unit_refusals_key PRIMARY KEY (unit, what, reason, source)
    CREATE UNIQUE INDEX unit_refusals_key ON public.unit_refusals USING btree (unit, what, reason, source)
TABLE unit_settings -- What people decided about units; a unit without a row is new.
    unit text NOT NULL
    name text NOT NULL
    standing text NOT NULL -- new, accepted, out-of-service or retired.
    changed_by text NOT NULL
    changed_at timestamp with time zone NOT NULL
    CONSTRAINT unit_settings_key PRIMARY KEY (unit)
    CONSTRAINT unit_settings_standing_is_known CHECK ((standing = ANY (ARRAY['new'::text, 'accepted'::text, 'out-of-service'::text, 'retired'::text])))
    CREATE UNIQUE INDEX unit_settings_key ON public.unit_settings USING btree (unit)
TABLE unit_states -- State of the fold of each unit: a cache that telemetry can rebuild.
    unit text NOT NULL
    arrival bigint NOT NULL -- The last arrival number folded in.
    version integer NOT NULL -- Version of the form of blob; an unknown one is folded again from telemetry.
    blob bytea NOT NULL -- The state, as the rules wrote it.
    updated_at timestamp with time zone NOT NULL
    aside_at timestamp with time zone -- Since when the unit is not judged; NULL: it is.
    aside_why text -- What went wrong, in one line.
    aside_by text -- The program that could not; another tries again from blob.
    CONSTRAINT unit_states_aside_is_whole CHECK ((num_nonnulls(aside_at, aside_why, aside_by) = ANY (ARRAY[0, 3])))
    CONSTRAINT unit_states_key PRIMARY KEY (unit)
    CREATE UNIQUE INDEX unit_states_key ON public.unit_states USING btree (unit)
TABLE users -- People who sign in.
    name text NOT NULL
    role text NOT NULL
    password_hash text NOT NULL -- In the encoded form of the hash function.
    created_at timestamp with time zone NOT NULL
    CONSTRAINT users_key PRIMARY KEY (name)
    CONSTRAINT users_name_not_empty CHECK ((name <> ''::text))
    CONSTRAINT users_role_is_known CHECK ((role = ANY (ARRAY['viewer'::text, 'operator'::text, 'lead'::text])))
    CREATE UNIQUE INDEX users_key ON public.users USING btree (name)
TABLE way_health -- How each way to each person has gone lately.
    person text NOT NULL
    way text NOT NULL
    failures integer NOT NULL -- Failures since the last success.
    failing_since timestamp with time zone
    last_try timestamp with time zone NOT NULL
    last_ok timestamp with time zone
    detail text NOT NULL
    CONSTRAINT way_health_key PRIMARY KEY (person, way)
    CREATE UNIQUE INDEX way_health_key ON public.way_health USING btree (person, way)
