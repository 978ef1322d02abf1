-- How each person wants to see things.

-- +goose Up

CREATE TABLE preferences (
    person text  NOT NULL,
    body   jsonb NOT NULL,
    CONSTRAINT preferences_key PRIMARY KEY (person),
    CONSTRAINT preferences_are_of_a_person FOREIGN KEY (person) REFERENCES users (name) ON UPDATE CASCADE
);
COMMENT ON TABLE preferences IS 'How each person wants the pages: units of measure, light or dark, sound.';
