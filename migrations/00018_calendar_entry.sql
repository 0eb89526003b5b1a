-- +goose Up

-- What a calendar address last showed of a visit, so that an entry which says
-- anything else gets a higher sequence and another time of change, and one that
-- says the same keeps both.
CREATE TABLE calendar_entry (
    club_id    bigint NOT NULL REFERENCES club ON DELETE CASCADE,
    link_id    bigint NOT NULL,
    visit_id   bigint NOT NULL,
    digest     bytea NOT NULL CHECK (octet_length(digest) = 16),
    sequence   integer NOT NULL CHECK (sequence >= 0),
    changed_at timestamptz NOT NULL,
    PRIMARY KEY (club_id, link_id, visit_id),
    FOREIGN KEY (club_id, link_id) REFERENCES calendar_link (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, visit_id) REFERENCES visit (club_id, id) ON DELETE CASCADE
);
COMMENT ON COLUMN calendar_entry.digest IS 'of all that the entry says but its sequence and time of change';
CREATE INDEX calendar_entry_visit ON calendar_entry (club_id, visit_id);
ALTER TABLE calendar_entry ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON calendar_entry USING (club_id = current_club());

ALTER TABLE calendar_link ADD COLUMN shown_version bigint NOT NULL DEFAULT 0;
COMMENT ON COLUMN calendar_link.shown_version IS 'the feed version of the club that calendar_entry is of';

-- +goose Down
ALTER TABLE calendar_link DROP COLUMN shown_version;
DROP TABLE calendar_entry;
