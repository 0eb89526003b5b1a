-- +goose Up

-- What a change of rules did to visits, by the first plan of their apiary under
-- the new version, so that going back to the rules of before puts back what
-- nobody touched since.
CREATE TABLE visit_move (
    club_id       bigint NOT NULL REFERENCES club ON DELETE CASCADE,
    visit_id      bigint NOT NULL,
    rules_version integer NOT NULL,
    rules_before  integer NOT NULL CHECK (rules_before > 0 AND rules_before < rules_version),
    was_day       date NOT NULL,
    was_status    text NOT NULL CHECK (was_status IN ('tentative', 'confirmed', 'cancelled')),
    was_sequence  integer NOT NULL,
    on_day        date NOT NULL,
    sequence      integer NOT NULL CHECK (sequence >= was_sequence),
    back          text NOT NULL DEFAULT '' CHECK (back IN ('', 'back', 'touched', 'near', 'anew')),
    moved_on      date NOT NULL,
    PRIMARY KEY (visit_id, rules_version, club_id),
    FOREIGN KEY (club_id, visit_id) REFERENCES visit (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, rules_version) REFERENCES rules (club_id, version) ON DELETE CASCADE
);
COMMENT ON COLUMN visit_move.rules_before IS 'the version by which the apiary was planned until then';
COMMENT ON COLUMN visit_move.sequence IS 'of the visit as the change left it; it follows what planning alters about a visit that stays on its day';
COMMENT ON COLUMN visit_move.back IS 'what became of it where this version has the rules of an earlier one';
CREATE INDEX visit_move_rules ON visit_move (club_id, rules_version);
ALTER TABLE visit_move ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON visit_move USING (club_id = current_club());

ALTER TABLE rules ADD COLUMN restores integer CHECK (restores > 0 AND restores < version);
COMMENT ON COLUMN rules.restores IS 'the last earlier version that had the same rules';

-- +goose Down
ALTER TABLE rules DROP COLUMN restores;
DROP TABLE visit_move;
