-- +goose Up

-- What happened to the colony of a hive. Hives, boxes and leave-alone days are as it
-- left them; beside what happened a row holds what taking it back needs. That deletes it.
CREATE TABLE colony_event (
    club_id        bigint NOT NULL,
    id             uuid NOT NULL,
    hive_id        bigint NOT NULL,
    n              integer NOT NULL CHECK (n > 0),
    on_day         date NOT NULL,
    what           text NOT NULL CHECK (what IN ('swarmed', 'requeened', 'split', 'united', 'moved', 'sold', 'died', 'new-colony')),
    other_hive_id  bigint,
    from_apiary_id bigint,
    queen          text NOT NULL DEFAULT '' CHECK (queen IN ('', 'unknown', 'stays', 'goes')),
    boxes          bigint[] NOT NULL DEFAULT '{}',
    positions      integer[] NOT NULL DEFAULT '{}',
    listed         boolean[] NOT NULL DEFAULT '{}',
    openings       integer[] NOT NULL DEFAULT '{}',
    under          bigint[] NOT NULL DEFAULT '{}',
    alone_from     date,
    alone_until    date,
    alone_for      text NOT NULL DEFAULT '',
    ended          boolean NOT NULL DEFAULT false,
    whom           text NOT NULL DEFAULT '',
    note           text NOT NULL DEFAULT '',
    by_member      bigint,
    recorded_at    timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (id, club_id),
    FOREIGN KEY (club_id, hive_id) REFERENCES hive (club_id, id) ON DELETE CASCADE,
    FOREIGN KEY (club_id, other_hive_id) REFERENCES hive (club_id, id) ON DELETE SET NULL (other_hive_id),
    FOREIGN KEY (club_id, from_apiary_id) REFERENCES apiary (club_id, id) ON DELETE SET NULL (from_apiary_id),
    FOREIGN KEY (club_id, by_member) REFERENCES member (club_id, id) ON DELETE SET NULL (by_member),
    CONSTRAINT one_of_each_box CHECK (
        cardinality(positions) = cardinality(boxes) AND cardinality(listed) = cardinality(boxes) AND cardinality(openings) = cardinality(boxes)),
    CONSTRAINT alone_from_a_day CHECK (alone_from IS NOT NULL OR alone_until IS NULL AND alone_for = '')
);
COMMENT ON COLUMN colony_event.boxes IS 'that went elsewhere with it, from positions of the stack; listed: they had rows in box_place before; openings: how many they had';
COMMENT ON COLUMN colony_event.under IS 'the stack of the other hive before boxes came between or below it';
CREATE INDEX colony_event_hive ON colony_event (hive_id, on_day, n);
CREATE INDEX colony_event_other ON colony_event (other_hive_id) WHERE other_hive_id IS NOT NULL;
CREATE INDEX colony_event_from ON colony_event (from_apiary_id) WHERE from_apiary_id IS NOT NULL;
CREATE INDEX colony_event_member ON colony_event (by_member) WHERE by_member IS NOT NULL;
ALTER TABLE colony_event ENABLE ROW LEVEL SECURITY;
CREATE POLICY one_club ON colony_event USING (club_id = current_club());

-- +goose Down
DROP TABLE colony_event;
