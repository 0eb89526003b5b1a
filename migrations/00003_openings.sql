-- +goose Up

-- One box opened on one day. Rows are only ever added; a correction names the
-- row that it supersedes. The id is made by whoever recorded it, so a second
-- arrival changes nothing.
CREATE TABLE opening (
    club_id     bigint NOT NULL,
    id          uuid NOT NULL,
    seq         bigint GENERATED ALWAYS AS IDENTITY,
    box_id      bigint NOT NULL,
    on_day      date NOT NULL,
    joint       smallint NOT NULL CHECK (joint BETWEEN 0 AND 4),
    frames      smallint NOT NULL CHECK (frames BETWEEN -1 AND 4),
    left_shut   boolean NOT NULL DEFAULT false,
    scraped     text NOT NULL CHECK (scraped IN ('', 'all', 'part', 'none')),
    condition   text[] NOT NULL DEFAULT '{}',
    note        text NOT NULL DEFAULT '',
    by_member   bigint,
    supersedes  uuid,
    void        boolean NOT NULL DEFAULT false,
    recorded_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (id, club_id),
    FOREIGN KEY (club_id, box_id) REFERENCES box (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, by_member) REFERENCES member (club_id, id) ON DELETE SET NULL (by_member),
    FOREIGN KEY (club_id, supersedes) REFERENCES opening (club_id, id) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT supersedes_another CHECK (supersedes <> id),
    CONSTRAINT takes_something_back CHECK (NOT void OR supersedes IS NOT NULL)
);
CREATE INDEX opening_box ON opening (box_id, seq);
CREATE UNIQUE INDEX opening_superseded_once ON opening (supersedes, club_id) WHERE supersedes IS NOT NULL;
CREATE INDEX opening_correction ON opening (box_id) WHERE supersedes IS NOT NULL;
CREATE INDEX opening_member ON opening (by_member) WHERE by_member IS NOT NULL;
ALTER TABLE opening ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON opening USING (club_id = current_club());
REVOKE UPDATE, DELETE ON opening FROM pryday_app;

CREATE TABLE gap (
    club_id    bigint NOT NULL,
    opening_id uuid NOT NULL,
    n          integer NOT NULL CHECK (n > 0),
    at         text NOT NULL CHECK (at <> ''),
    mm         double precision NOT NULL CHECK (mm BETWEEN 0 AND 100),
    peg        text NOT NULL DEFAULT '' CHECK (peg IN ('', 'thin-wont-go', 'thin-goes', 'thick-goes')),
    PRIMARY KEY (opening_id, n, club_id),
    FOREIGN KEY (club_id, opening_id) REFERENCES opening (club_id, id) ON DELETE CASCADE
);
ALTER TABLE gap ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON gap USING (club_id = current_club());
REVOKE UPDATE, DELETE ON gap FROM pryday_app;

-- +goose Down
DROP TABLE gap, opening;
