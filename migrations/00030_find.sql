-- +goose Up

-- Boxes are found by their painted mark, whole or its beginning, among those of
-- the present club. Under row-level security no index serves a condition on
-- lower(), which might leak what it is given: hence a function of the owner's,
-- which looks at the present club alone. Writing to box waits while the index is
-- made.
CREATE INDEX box_mark ON box (lower(name) text_pattern_ops, club_id);

CREATE FUNCTION boxes_marked(prefix text, most integer) RETURNS TABLE (id bigint, exact boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        SELECT b.id, lower(b.name) = lower(prefix) FROM public.box b
         WHERE b.club_id = public.current_club()
           AND lower(b.name) ~>=~ lower(prefix) AND lower(b.name) ~<~ (lower(prefix) || chr(1114111))
         ORDER BY lower(b.name) USING ~<~, b.id LIMIT most $$;
COMMENT ON FUNCTION boxes_marked(text, integer) IS 'the boxes of the present club whose mark begins so, whatever its case; those with no more than that first';
REVOKE EXECUTE ON FUNCTION boxes_marked(text, integer) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION boxes_marked(text, integer) TO pryday_app;

-- So are hives, by the beginning of their name.
CREATE INDEX hive_name ON hive (lower(name) text_pattern_ops, club_id);

CREATE FUNCTION hives_named(prefix text, most integer) RETURNS TABLE (id bigint, exact boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
        SELECT h.id, lower(h.name) = lower(prefix) FROM public.hive h
         WHERE h.club_id = public.current_club()
           AND lower(h.name) ~>=~ lower(prefix) AND lower(h.name) ~<~ (lower(prefix) || chr(1114111))
         ORDER BY lower(h.name) USING ~<~, h.id LIMIT most $$;
COMMENT ON FUNCTION hives_named(text, integer) IS 'the hives of the present club whose name begins so, whatever its case; those with no more than that first';
REVOKE EXECUTE ON FUNCTION hives_named(text, integer) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION hives_named(text, integer) TO pryday_app;

-- The newest notes are looked through for words.
CREATE INDEX opening_note ON opening (club_id, on_day DESC, seq DESC) WHERE note <> '';

-- +goose Down
DROP INDEX opening_note;
DROP FUNCTION hives_named(text, integer);
DROP INDEX hive_name;
DROP FUNCTION boxes_marked(text, integer);
DROP INDEX box_mark;
