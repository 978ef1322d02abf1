-- +goose Up
-- What the embedded broker did not let in, by unit: connections with a wrong
-- key, publishes where the unit may not publish. Refused telemetry stands in
-- quarantine; this is for the unit's page, so that whoever sets up a unit
-- sees why nothing arrives. Bounded: alike ones are one row with a count, and
-- a unit has the newest 20 rows.
CREATE TABLE unit_refusals (
    unit text NOT NULL,
    what text NOT NULL,
    reason text NOT NULL,
    source text NOT NULL,
    first_at timestamptz NOT NULL,
    last_at timestamptz NOT NULL,
    count bigint NOT NULL,
    CONSTRAINT unit_refusals_key PRIMARY KEY (unit, what, reason, source),
    CONSTRAINT unit_refusals_are_counted CHECK (count > 0)
);
COMMENT ON TABLE unit_refusals IS 'What the broker did not let in, by unit, the newest 20 of each.';
CREATE INDEX quarantine_of_unit ON quarantine (unit, arrival DESC) WHERE unit IS NOT NULL;
