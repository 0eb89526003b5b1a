-- +goose Up

-- Erases a person from all clubs: name and address go wherever they stand as
-- such, also from what was mailed and from the trails, which the serving role
-- cannot change. What was done to boxes stays, as done by a former member; what
-- people wrote as notes stays as they wrote it. It fails with PD001 for the last
-- organiser of a club, whose name is the detail.
-- +goose StatementBegin
CREATE FUNCTION erase_person(whom bigint, instead text) RETURNS void
    LANGUAGE plpgsql VOLATILE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$
DECLARE
    address_of text; mine record; lacking text;
BEGIN
    PERFORM FROM public.club
      WHERE id IN (SELECT club_id FROM public.member WHERE person_id = whom) ORDER BY id FOR NO KEY UPDATE;
    SELECT email INTO address_of FROM public.person WHERE id = whom FOR UPDATE;
    SELECT string_agg(c.name, ', ' ORDER BY c.id) INTO lacking FROM public.club c JOIN public.member m ON m.club_id = c.id AND m.person_id = whom
     WHERE m.role = 'organiser' AND NOT EXISTS (
           SELECT FROM public.member o WHERE o.club_id = c.id AND o.role = 'organiser' AND o.person_id <> whom);
    IF lacking IS NOT NULL THEN
        RAISE EXCEPTION 'the last organiser' USING ERRCODE = 'PD001', DETAIL = lacking;
    END IF;
    FOR mine IN
        SELECT m.club_id, m.id, m.name, '\m' || regexp_replace(m.name, '([^[:alnum:]])', '\\\1', 'g') || '(?!\w)' AS named,
               '(?i)' || regexp_replace(address_of, '([^[:alnum:]])', '\\\1', 'g') AS mailed
          FROM public.member m WHERE m.person_id = whom ORDER BY m.club_id
    LOOP
        UPDATE public.calendar_link SET member_id = NULL, revoked_at = coalesce(revoked_at, now()), label = '', fetched_by = '',
               language = (SELECT m.language FROM public.member m WHERE m.club_id = mine.club_id AND m.id = mine.id)
         WHERE club_id = mine.club_id AND member_id = mine.id;
        UPDATE public.opening SET opened_by_name = '' WHERE club_id = mine.club_id AND opened_by_name = mine.name;
        UPDATE public.message SET address = '', reply = '', returned_reply = '', reason = '', items = '[]'
         WHERE club_id = mine.club_id AND (member_id = mine.id OR lower(address) = lower(address_of));
        UPDATE public.message SET reason = 'invited by ' || instead
         WHERE club_id = mine.club_id AND reason = 'invited by ' || mine.name;
        UPDATE public.message SET items = replace(items::text, to_json(mine.name)::text, to_json(instead)::text)::jsonb
         WHERE club_id = mine.club_id AND position(to_json(mine.name)::text IN items::text) > 0;
        UPDATE public.audit SET subject = regexp_replace(regexp_replace(subject, mine.mailed, instead, 'g'), mine.named, instead, 'g'),
               detail = regexp_replace(replace(detail::text, to_json(mine.name)::text, to_json(instead)::text), mine.mailed, instead, 'g')::jsonb
         WHERE club_id = mine.club_id
           AND (subject ~ mine.named OR subject ~ mine.mailed OR detail::text ~ mine.mailed OR position(to_json(mine.name)::text IN detail::text) > 0);
        UPDATE public.inbound_mail SET from_name = '', from_email = '', sender = '', subject = '', body = ''
         WHERE club_id = mine.club_id AND lower(from_email) = lower(address_of);
        DELETE FROM public.member WHERE club_id = mine.club_id AND id = mine.id;
        UPDATE public.club SET feed_version = feed_version + 1 WHERE id = mine.club_id;
        PERFORM pg_notify('pryday_feed', c.id || ' ' || c.feed_version) FROM public.club c WHERE c.id = mine.club_id;
    END LOOP;
    DELETE FROM public.person WHERE id = whom;
END $$;
-- +goose StatementEnd
REVOKE EXECUTE ON FUNCTION erase_person(bigint, text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION erase_person(bigint, text) TO pryday_app;

-- The members of the present club who belong to others too: what is mailed to
-- them to sign in, and why an address was refused, may be another club's.
CREATE FUNCTION members_of_several() RETURNS SETOF bigint
    LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp
    AS $$ SELECT m.id FROM public.member m
           WHERE m.club_id = public.current_club()
             AND EXISTS (SELECT FROM public.member o WHERE o.person_id = m.person_id AND o.club_id <> m.club_id) $$;
REVOKE EXECUTE ON FUNCTION members_of_several() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION members_of_several() TO pryday_app;

-- +goose Down
DROP FUNCTION members_of_several();
DROP FUNCTION erase_person(bigint, text);
