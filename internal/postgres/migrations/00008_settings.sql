-- Who changed what of the lab's settings.

-- +goose Up

CREATE TABLE setting_changes (
    id    bigint      GENERATED ALWAYS AS IDENTITY,
    key   text        NOT NULL,
    value jsonb       NOT NULL,
    by    text        NOT NULL,
    at    timestamptz NOT NULL,
    CONSTRAINT setting_changes_key PRIMARY KEY (id),
    CONSTRAINT setting_changes_say_who CHECK (by <> '')
);
CREATE INDEX setting_changes_by_key ON setting_changes (key, id);
COMMENT ON TABLE  setting_changes IS 'Every change of a setting: rows are added, never changed nor deleted.';
COMMENT ON COLUMN setting_changes.key   IS 'house, or unit lab/unit.';
COMMENT ON COLUMN setting_changes.value IS 'What it was changed to.';
CREATE TRIGGER setting_changes_append_only BEFORE UPDATE OR DELETE ON setting_changes
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER setting_changes_never_emptied BEFORE TRUNCATE ON setting_changes
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
