-- What people decide, who they are, and the keys of units.

-- +goose Up

CREATE TABLE unit_settings (
    unit       text        NOT NULL,
    name       text        NOT NULL,
    standing   text        NOT NULL,
    changed_by text        NOT NULL,
    changed_at timestamptz NOT NULL,
    CONSTRAINT unit_settings_key PRIMARY KEY (unit),
    CONSTRAINT unit_settings_standing_is_known
        CHECK (standing IN ('new', 'accepted', 'out-of-service', 'retired'))
);
COMMENT ON TABLE  unit_settings IS 'What people decided about units; a unit without a row is new.';
COMMENT ON COLUMN unit_settings.standing IS 'new, accepted, out-of-service or retired.';

CREATE TABLE users (
    name          text        NOT NULL,
    role          text        NOT NULL,
    password_hash text        NOT NULL,
    created_at    timestamptz NOT NULL,
    CONSTRAINT users_key PRIMARY KEY (name),
    CONSTRAINT users_name_not_empty CHECK (name <> ''),
    CONSTRAINT users_role_is_known CHECK (role IN ('viewer', 'operator', 'lead'))
);
COMMENT ON TABLE  users IS 'People who sign in.';
COMMENT ON COLUMN users.password_hash IS 'In the encoded form of the hash function.';

CREATE TABLE tokens (
    name       text        NOT NULL,
    role       text        NOT NULL,
    hash       bytea       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT tokens_key PRIMARY KEY (name),
    CONSTRAINT tokens_name_not_empty CHECK (name <> ''),
    CONSTRAINT tokens_hash_names_one UNIQUE (hash),
    CONSTRAINT tokens_role_is_known CHECK (role IN ('viewer', 'operator', 'lead'))
);
COMMENT ON TABLE  tokens IS 'API tokens; the token itself is shown once and not kept.';
COMMENT ON COLUMN tokens.hash IS 'SHA-256 of the token.';

CREATE TABLE sessions (
    token  text        NOT NULL,
    data   bytea       NOT NULL,
    expiry timestamptz NOT NULL,
    CONSTRAINT sessions_key PRIMARY KEY (token)
);
CREATE INDEX sessions_by_expiry ON sessions (expiry);
COMMENT ON TABLE sessions IS 'Signed-in sessions of the pages.';

CREATE TABLE unit_keys (
    unit       text        NOT NULL,
    hash       bytea       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT unit_keys_key PRIMARY KEY (unit)
);
COMMENT ON TABLE  unit_keys IS 'Keys by which units beyond loopback reach the embedded broker, one a unit.';
COMMENT ON COLUMN unit_keys.hash IS 'Hash of the key; the key itself is shown once and not kept.';

CREATE TABLE settings (
    key        text        NOT NULL,
    value      bytea       NOT NULL,
    changed_at timestamptz NOT NULL,
    CONSTRAINT settings_key PRIMARY KEY (key)
);
COMMENT ON TABLE settings IS 'Settings of the whole lab, by name.';

-- +goose Down
DROP TABLE settings, unit_keys, sessions, tokens, users, unit_settings;
