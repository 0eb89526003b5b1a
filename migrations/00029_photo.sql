-- +goose Up

-- Photos of a box, each with the opening that it was taken at: the first of those
-- that correct each other. A removed one is kept for a day, to be brought back;
-- its row stays without pictures, so that one that comes late a second time is
-- known.
CREATE TABLE photo (
    club_id    bigint NOT NULL,
    id         uuid NOT NULL,
    box_id     bigint NOT NULL,
    opening_id uuid NOT NULL,
    seq        bigint GENERATED ALWAYS AS IDENTITY,
    by_member  bigint,
    added_at   timestamptz NOT NULL DEFAULT now(),
    removed_at timestamptz,
    width      smallint NOT NULL CHECK (width BETWEEN 1 AND 1600),
    height     smallint NOT NULL CHECK (height BETWEEN 1 AND 1600),
    large      bytea CHECK (octet_length(large) BETWEEN 1 AND 600000),
    small      bytea CHECK (octet_length(small) BETWEEN 1 AND 50000),
    PRIMARY KEY (id, club_id),
    FOREIGN KEY (club_id, box_id) REFERENCES box (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, opening_id) REFERENCES opening (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, by_member) REFERENCES member (club_id, id) ON DELETE SET NULL (by_member),
    CONSTRAINT stands_with_pictures CHECK ((large IS NULL) = (small IS NULL) AND (large IS NOT NULL OR removed_at IS NOT NULL))
);
COMMENT ON COLUMN photo.large IS 'a JPEG file that holds pixels alone; small is the same for lists';
CREATE INDEX photo_box ON photo (box_id, seq);
CREATE INDEX photo_opening ON photo (opening_id);
CREATE INDEX photo_by ON photo (by_member) WHERE by_member IS NOT NULL;
CREATE INDEX photo_removed ON photo (removed_at) WHERE large IS NOT NULL AND removed_at IS NOT NULL;
ALTER TABLE photo ALTER COLUMN large SET STORAGE EXTERNAL, ALTER COLUMN small SET STORAGE EXTERNAL;
ALTER TABLE photo ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON photo USING (club_id = current_club());

-- +goose Down
DROP TABLE photo;
