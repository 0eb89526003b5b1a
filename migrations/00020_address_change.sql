-- +goose Up

-- A mailed address either confirms an address that was asked for, or brings the
-- one of before back.
ALTER TABLE address_change ADD COLUMN undo boolean NOT NULL DEFAULT false;
CREATE INDEX address_change_time ON address_change (created_at);

-- Mails about a change of address are asked for like those that sign in: they
-- take nothing from what a person may be mailed.
CREATE OR REPLACE FUNCTION mails_to_members(since date) RETURNS TABLE (person_id bigint, on_day date, club_id bigint, free boolean, weekly boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT m.person_id, g.on_day, g.club_id, g.free, g.kind = 'escalation'
            FROM public.member mine
            JOIN public.member m ON m.person_id = mine.person_id
            JOIN public.message g ON g.club_id = m.club_id AND g.member_id = m.id
           WHERE mine.club_id = public.current_club() AND g.on_day >= since AND g.state IN ('owed', 'sent')
             AND g.kind NOT IN ('sign-in', 'invitation', 'new-address', 'old-address') $$;

-- +goose Down
CREATE OR REPLACE FUNCTION mails_to_members(since date) RETURNS TABLE (person_id bigint, on_day date, club_id bigint, free boolean, weekly boolean)
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT m.person_id, g.on_day, g.club_id, g.free, g.kind = 'escalation'
            FROM public.member mine
            JOIN public.member m ON m.person_id = mine.person_id
            JOIN public.message g ON g.club_id = m.club_id AND g.member_id = m.id
           WHERE mine.club_id = public.current_club() AND g.on_day >= since AND g.state IN ('owed', 'sent')
             AND g.kind NOT IN ('sign-in', 'invitation') $$;
DROP INDEX address_change_time;
ALTER TABLE address_change DROP COLUMN undo;
