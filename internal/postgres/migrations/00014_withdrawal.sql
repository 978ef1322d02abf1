-- What was given to somebody can be taken back: tokens end, and so do the
-- links in pages.

-- +goose Up

ALTER TABLE tokens
    ADD COLUMN expires_at   timestamptz,
    ADD COLUMN last_used_at timestamptz;
-- what was made before had no end: a year from now on, but for screens on a
-- wall, which a lead withdraws by name
UPDATE tokens SET expires_at = now() + interval '365 days' WHERE name NOT LIKE 'wall %';
COMMENT ON COLUMN tokens.expires_at   IS 'When it ends; null for a screen''s link, which holds until it is withdrawn.';
COMMENT ON COLUMN tokens.last_used_at IS 'When it was last shown, to the minute.';

CREATE TABLE links_withdrawn (
    person   text        NOT NULL,
    alert_id text        NOT NULL,
    by       text        NOT NULL,
    at       timestamptz NOT NULL,
    CONSTRAINT links_withdrawn_key PRIMARY KEY (person, alert_id),
    CONSTRAINT links_withdrawn_of_one CHECK ((person = '') <> (alert_id = ''))
);
COMMENT ON TABLE  links_withdrawn IS 'Links in pages made until then are good for nothing: those of a person, or those about an alert.';
COMMENT ON COLUMN links_withdrawn.person   IS 'Whose; empty for those about an alert.';
COMMENT ON COLUMN links_withdrawn.alert_id IS 'About which alert; empty for those of a person.';

-- +goose Down
DROP TABLE links_withdrawn;
ALTER TABLE tokens DROP COLUMN expires_at, DROP COLUMN last_used_at;
