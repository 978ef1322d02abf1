-- +goose Up
ALTER TABLE alerts ADD COLUMN held text NOT NULL DEFAULT '';
COMMENT ON COLUMN alerts.held IS 'Why its pages are held back, shelving apart: out-of-service, lab-closed, chattering; empty where they are not.';
CREATE INDEX alerts_by_notice ON alerts (noticed_at);
COMMENT ON COLUMN alert_events.what IS 'raised, returned, cleared, acknowledged, shelved, unshelved, held, released, withdrawn, closed, priority or moved.';
