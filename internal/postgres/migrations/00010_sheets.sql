-- What the lab changed of its process sheets.

-- +goose Up

CREATE TABLE sheet_changes (
    id      bigint      GENERATED ALWAYS AS IDENTITY,
    process text        NOT NULL,
    body    text        NOT NULL,
    by      text        NOT NULL,
    at      timestamptz NOT NULL,
    CONSTRAINT sheet_changes_key PRIMARY KEY (id),
    CONSTRAINT sheet_changes_say_who CHECK (by <> ''),
    CONSTRAINT sheet_changes_name_a_process CHECK (process <> '')
);
COMMENT ON TABLE  sheet_changes IS 'Every change of a process sheet: rows are added, never changed nor deleted. A run is judged by what was in force when it began.';
COMMENT ON COLUMN sheet_changes.body IS 'In the form of a sheet''s file; empty: back to what the program and the lab''s folder have.';
CREATE TRIGGER sheet_changes_append_only BEFORE UPDATE OR DELETE ON sheet_changes
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER sheet_changes_never_emptied BEFORE TRUNCATE ON sheet_changes
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
