-- Telemetry as it came in, what was refused, and who may write.

-- +goose Up

-- One row. A holder of the lab takes the next term; every writing transaction
-- of ingest and worker reads the row FOR SHARE, so that a holder that lost its
-- advisory lock (failover, a long pause) can no longer commit anything.
CREATE TABLE holder (
    only_row boolean     NOT NULL DEFAULT true,
    term     bigint      NOT NULL DEFAULT 0,
    app      text        NOT NULL DEFAULT '',
    since    timestamptz,
    CONSTRAINT holder_has_one_row PRIMARY KEY (only_row),
    CONSTRAINT holder_only_row_is_true CHECK (only_row),
    CONSTRAINT holder_term_not_negative CHECK (term >= 0)
);
INSERT INTO holder DEFAULT VALUES;
COMMENT ON TABLE  holder IS 'One row: the term of the one wetside that may write. Raised by each new holder.';
COMMENT ON COLUMN holder.term  IS 'Rises by one with each holder; writes with an older term are refused.';
COMMENT ON COLUMN holder.app   IS 'What the holder calls itself.';
COMMENT ON COLUMN holder.since IS 'When the term began.';

-- One row, apart from holder so that ingest and worker do not wait for each
-- other. The row lock of the UPDATE is kept until commit: the next writer gets
-- its numbers only after the ones before are visible, so no row ever commits
-- behind a higher number, and a reader's cursor misses nothing.
CREATE TABLE arrival_counter (
    only_row boolean NOT NULL DEFAULT true,
    last     bigint  NOT NULL DEFAULT 0,
    CONSTRAINT arrival_counter_has_one_row PRIMARY KEY (only_row),
    CONSTRAINT arrival_counter_only_row_is_true CHECK (only_row)
) WITH (fillfactor = 10); -- room on the page: each update stays in place
INSERT INTO arrival_counter DEFAULT VALUES;
COMMENT ON TABLE  arrival_counter IS 'One row: the last arrival number given. Telemetry and quarantine share the sequence.';
COMMENT ON COLUMN arrival_counter.last IS 'The last number given.';

-- Partitioned by day on the time the unit sent, as it sent it: a second copy
-- of a message then lands in the same partition, where the key catches it.
-- Had the replaced time decided, a copy that comes a day later would not.
CREATE TABLE telemetry (
    arrival     bigint           NOT NULL,
    unit        text             NOT NULL,
    channel     text             NOT NULL,
    boot        text             NOT NULL,
    seq         bigint           NOT NULL,
    sent_at     timestamptz      NOT NULL,
    at          timestamptz      NOT NULL,
    at_replaced boolean          NOT NULL,
    received_at timestamptz      NOT NULL,
    up_s        double precision,
    retained    boolean          NOT NULL,
    will        boolean          NOT NULL,
    imported    boolean          NOT NULL DEFAULT false,
    payload     bytea            NOT NULL,
    -- status
    online      boolean,
    model       text,
    firmware    text,
    processes   text[],
    containers  jsonb,
    -- step
    phase       text,
    run         text,
    process     text,
    push        double precision,
    step        text,
    n           bigint,
    of_n        bigint,
    set_s       double precision,
    elapsed_s   double precision,
    fill_ml     double precision,
    set_c       double precision,
    draw_from   text,
    drain_to    text,
    waits_for   text,
    kind        text,
    -- temp
    bath_c      double precision,
    preheat_c   double precision,
    wash_c      double precision,
    dryer_c     double precision,
    room_c      double precision,
    -- tank
    levels_l        jsonb,
    full_containers text[],
    -- power
    power_source text,
    power_event  text,
    outage_s     double precision,
    battery_pct  double precision,
    -- motion
    rpm         double precision,
    reversals   double precision,
    CONSTRAINT telemetry_key PRIMARY KEY (unit, boot, seq, sent_at),
    CONSTRAINT telemetry_only_a_will_has_no_key CHECK (will = (boot = '') AND will = (seq < 1)),
    CONSTRAINT telemetry_channel_is_known
        CHECK (channel IN ('status', 'step', 'temp', 'tank', 'power', 'motion'))
) PARTITION BY RANGE (sent_at);

-- The worker reads on from its cursor; numbers rise, so this index grows at
-- its right edge only and costs little. History that was imported is not for
-- the worker and must not lie in its way.
CREATE INDEX telemetry_arrival ON telemetry (arrival) WHERE NOT imported;
-- Messages of a lost clock lie in the partition of 1970 or the like; a look-up
-- by the time that counts finds the few of them here.
CREATE INDEX telemetry_replaced ON telemetry (unit, at) WHERE at_replaced;

-- Behind all days: a message with a time that nobody made a partition for is
-- kept all the same. Partitions are never made while a message waits.
CREATE TABLE telemetry_default PARTITION OF telemetry DEFAULT;

COMMENT ON TABLE  telemetry IS 'Every telemetry message once, as received and in typed columns; a partition for each UTC day of sent_at.';
COMMENT ON TABLE  telemetry_default IS 'Telemetry of days without a partition of their own, such as 1970 from a controller that lost its clock.';
COMMENT ON COLUMN telemetry.arrival     IS 'Rises in the order of commits, over telemetry and quarantine together.';
COMMENT ON COLUMN telemetry.unit        IS 'lab/unit';
COMMENT ON COLUMN telemetry.channel     IS 'status, step, temp, tank, power or motion: the last part of the topic.';
COMMENT ON COLUMN telemetry.boot        IS 'New at each start of the unit''s controller; empty for a last will.';
COMMENT ON COLUMN telemetry.seq         IS 'Counts from 1 in each boot over all channels; 0 for a last will.';
COMMENT ON COLUMN telemetry.sent_at     IS 'The time as the unit sent it, right or wrong; the arrival time for a last will.';
COMMENT ON COLUMN telemetry.at          IS 'The time that counts: sent_at, or received_at where the unit''s clock cannot be right.';
COMMENT ON COLUMN telemetry.at_replaced IS 'True where at is the arrival time in place of what the unit sent.';
COMMENT ON COLUMN telemetry.received_at IS 'When wetside received it.';
COMMENT ON COLUMN telemetry.up_s        IS 'Seconds since the controller started.';
COMMENT ON COLUMN telemetry.retained    IS 'The broker''s retained copy, not a live message.';
COMMENT ON COLUMN telemetry.will        IS 'The last will: the broker lost the unit.';
COMMENT ON COLUMN telemetry.imported    IS 'History that was read in from a capture: not part of what is watched live.';
COMMENT ON COLUMN telemetry.payload     IS 'The payload, byte for byte as received.';
COMMENT ON COLUMN telemetry.online      IS 'status: true; false in the last will.';
COMMENT ON COLUMN telemetry.model       IS 'status: model of the processor.';
COMMENT ON COLUMN telemetry.firmware    IS 'status: version of its program.';
COMMENT ON COLUMN telemetry.processes   IS 'status: ids of the processes it can run.';
COMMENT ON COLUMN telemetry.containers  IS 'status: its tanks and bottles, {name: {role, capacity_l}}.';
COMMENT ON COLUMN telemetry.phase       IS 'step: idle, heating, filling, in-bath, draining, waiting, drying, done or aborted.';
COMMENT ON COLUMN telemetry.run         IS 'step: the unit''s own name of the run.';
COMMENT ON COLUMN telemetry.process     IS 'step: process id, such as c41.';
COMMENT ON COLUMN telemetry.push        IS 'step: push in stops; pull is negative.';
COMMENT ON COLUMN telemetry.step        IS 'step: the step''s id, such as developer.';
COMMENT ON COLUMN telemetry.n           IS 'step: number of the step in the run.';
COMMENT ON COLUMN telemetry.of_n        IS 'step: number of steps of the run.';
COMMENT ON COLUMN telemetry.set_s       IS 'step: set time in seconds.';
COMMENT ON COLUMN telemetry.elapsed_s   IS 'step: seconds gone, as the unit counts.';
COMMENT ON COLUMN telemetry.fill_ml     IS 'step: volume of one fill in millilitres.';
COMMENT ON COLUMN telemetry.set_c       IS 'step: set temperature in degrees Celsius.';
COMMENT ON COLUMN telemetry.draw_from   IS 'step: container the liquid comes from.';
COMMENT ON COLUMN telemetry.drain_to    IS 'step: container the liquid drains to.';
COMMENT ON COLUMN telemetry.waits_for   IS 'step: what a waiting unit wants of a person.';
COMMENT ON COLUMN telemetry.kind        IS 'step: film, strip, flush, water or prime.';
COMMENT ON COLUMN telemetry.bath_c      IS 'temp: the liquid on the film, degrees Celsius.';
COMMENT ON COLUMN telemetry.preheat_c   IS 'temp: the bath being heated for the next step, degrees Celsius.';
COMMENT ON COLUMN telemetry.wash_c      IS 'temp: in the wash tank, degrees Celsius.';
COMMENT ON COLUMN telemetry.dryer_c     IS 'temp: in the dryer, degrees Celsius.';
COMMENT ON COLUMN telemetry.room_c      IS 'temp: of the room, degrees Celsius.';
COMMENT ON COLUMN telemetry.levels_l    IS 'tank: {container: litres}.';
COMMENT ON COLUMN telemetry.full_containers IS 'tank: containers whose float switch is closed.';
COMMENT ON COLUMN telemetry.power_source IS 'power: mains or battery.';
COMMENT ON COLUMN telemetry.power_event  IS 'power: lost, restored or resumed.';
COMMENT ON COLUMN telemetry.outage_s     IS 'power: how long the mains were away, seconds.';
COMMENT ON COLUMN telemetry.battery_pct  IS 'power: charge of the battery, percent.';
COMMENT ON COLUMN telemetry.rpm          IS 'motion: rotation in turns a minute, never negative.';
COMMENT ON COLUMN telemetry.reversals    IS 'motion: reversals of the rotation.';

-- A view for each channel, for people with psql.
CREATE VIEW telemetry_status AS
    SELECT arrival, unit, boot, seq, at, received_at, retained, will, online, model, firmware, processes, containers
    FROM telemetry WHERE channel = 'status';
CREATE VIEW telemetry_step AS
    SELECT arrival, unit, boot, seq, at, received_at, up_s, phase, run, process, push, step, n, of_n, set_s,
           elapsed_s, fill_ml, set_c, draw_from, drain_to, waits_for, kind
    FROM telemetry WHERE channel = 'step';
CREATE VIEW telemetry_temp AS
    SELECT arrival, unit, boot, seq, at, received_at, up_s, bath_c, preheat_c, wash_c, dryer_c, room_c
    FROM telemetry WHERE channel = 'temp';
CREATE VIEW telemetry_tank AS
    SELECT arrival, unit, boot, seq, at, received_at, up_s, levels_l, full_containers
    FROM telemetry WHERE channel = 'tank';
CREATE VIEW telemetry_power AS
    SELECT arrival, unit, boot, seq, at, received_at, up_s, power_source, power_event, outage_s, battery_pct
    FROM telemetry WHERE channel = 'power';
CREATE VIEW telemetry_motion AS
    SELECT arrival, unit, boot, seq, at, received_at, up_s, rpm, reversals
    FROM telemetry WHERE channel = 'motion';
COMMENT ON VIEW telemetry_status IS 'What units say of themselves at every connection, and their last wills.';
COMMENT ON VIEW telemetry_step   IS 'Where each unit stood in its run.';
COMMENT ON VIEW telemetry_temp   IS 'Temperature readings, degrees Celsius.';
COMMENT ON VIEW telemetry_tank   IS 'Container levels in litres and closed float switches.';
COMMENT ON VIEW telemetry_power  IS 'Mains, battery, and what happened to them.';
COMMENT ON VIEW telemetry_motion IS 'The rotation that agitates the film.';

CREATE TABLE quarantine (
    arrival     bigint      NOT NULL,
    received_at timestamptz NOT NULL,
    topic       text        NOT NULL,
    unit        text,
    reason      text        NOT NULL,
    payload     bytea       NOT NULL,
    imported    boolean     NOT NULL DEFAULT false,
    CONSTRAINT quarantine_key PRIMARY KEY (arrival),
    CONSTRAINT quarantine_has_a_reason CHECK (reason <> '')
);
-- A batch that is written again because the reply to COMMIT was lost must not
-- be refused twice. Hashes, since topics and payloads outgrow an index entry.
CREATE UNIQUE INDEX quarantine_once ON quarantine (received_at, md5(topic), md5(payload));
COMMENT ON TABLE  quarantine IS 'Messages that were refused, whole, with the reason.';
COMMENT ON COLUMN quarantine.arrival     IS 'Arrival number, of one sequence with telemetry.';
COMMENT ON COLUMN quarantine.received_at IS 'When wetside received it.';
COMMENT ON COLUMN quarantine.topic       IS 'The topic; what PostgreSQL cannot hold in a text shows as U+FFFD.';
COMMENT ON COLUMN quarantine.unit        IS 'lab/unit, where the topic names one.';
COMMENT ON COLUMN quarantine.reason      IS 'A short code, a colon and the particulars.';
COMMENT ON COLUMN quarantine.payload     IS 'The payload, byte for byte as received.';
COMMENT ON COLUMN quarantine.imported    IS 'It came with history that was read in from a capture.';

-- +goose Down
DROP TABLE quarantine;
DROP VIEW telemetry_status, telemetry_step, telemetry_temp, telemetry_tank, telemetry_power, telemetry_motion;
DROP TABLE telemetry;
DROP TABLE arrival_counter;
DROP TABLE holder;
