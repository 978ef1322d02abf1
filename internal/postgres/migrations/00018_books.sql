-- What the lab writes by hand of no one unit: mixes, and the waste log. Every
-- version of a line stays.

-- +goose Up
CREATE TABLE book_lines (
    n       bigint GENERATED ALWAYS AS IDENTITY,
    book    text        NOT NULL,
    id      text        NOT NULL,
    version integer     NOT NULL,
    at      timestamptz NOT NULL,
    entered timestamptz NOT NULL,
    by      text        NOT NULL,
    why     text        NOT NULL DEFAULT '',
    body    jsonb       NOT NULL,
    CONSTRAINT book_lines_key PRIMARY KEY (n),
    CONSTRAINT book_lines_have_one_of_each_version UNIQUE (book, id, version),
    CONSTRAINT book_lines_are_of_a_book CHECK (book IN ('mixes', 'waste')),
    CONSTRAINT book_lines_count_versions_from_one CHECK (version >= 1),
    CONSTRAINT book_lines_say_why_they_are_corrected CHECK (version = 1 OR why <> '')
);
CREATE TRIGGER book_lines_append_only BEFORE UPDATE OR DELETE ON book_lines
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER book_lines_never_emptied BEFORE TRUNCATE ON book_lines
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
COMMENT ON TABLE  book_lines IS 'Lines of the books that the lab writes by hand: rows are added, never changed nor deleted. The highest version of a line holds.';
COMMENT ON COLUMN book_lines.book    IS 'mixes: what was mixed. waste: emptyings, weekly checks.';
COMMENT ON COLUMN book_lines.id      IS 'The label of a mix; of an emptying of a unit''s container the id of its entry.';
COMMENT ON COLUMN book_lines.version IS '1 as first written; each correction counts one on.';
COMMENT ON COLUMN book_lines.at      IS 'When it was so.';
COMMENT ON COLUMN book_lines.why     IS 'Why it was corrected; empty in the first version.';

CREATE INDEX entries_of_bottles ON entries (unit, arrival) WHERE what = 'bottle';

-- +goose Down
DROP INDEX entries_of_bottles;
DROP TABLE book_lines;
