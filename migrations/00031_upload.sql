-- +goose Up

-- Spreadsheets that somebody brings in, kept between the steps of doing so as the
-- tables that were read from them, with what was said about them. They are cleared
-- a day after anybody last worked on them.
CREATE TABLE upload (
    club_id    bigint NOT NULL,
    id         uuid NOT NULL,
    by_member  bigint NOT NULL,
    name       text NOT NULL CHECK (char_length(name) <= 200),
    tables     bytea NOT NULL CHECK (octet_length(tables) BETWEEN 1 AND 16777216),
    choices    jsonb NOT NULL,
    touched_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (id, club_id),
    FOREIGN KEY (club_id) REFERENCES club (id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, by_member) REFERENCES member (club_id, id) ON DELETE CASCADE
);
COMMENT ON COLUMN upload.tables IS 'rows of cells as JSON, compressed';
CREATE INDEX upload_by ON upload (by_member);
CREATE INDEX upload_touched ON upload (touched_at);
ALTER TABLE upload ALTER COLUMN tables SET STORAGE EXTERNAL;
ALTER TABLE upload ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON upload USING (club_id = current_club());

-- +goose Down
DROP TABLE upload;
