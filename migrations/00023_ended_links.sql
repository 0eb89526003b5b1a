-- +goose Up

-- The calendar address of a member or an apiary that is no more says so for a
-- while, as every address that ended does. Nothing of the member stays with it
-- but the language that it speaks. With its club an address goes at once.
ALTER TABLE calendar_link
    ADD COLUMN language text NOT NULL DEFAULT '',
    ALTER COLUMN member_id DROP NOT NULL,
    DROP CONSTRAINT of_an_apiary,
    ADD CONSTRAINT of_an_apiary CHECK (apiary_id IS NULL OR kind = 'apiary'),
    ADD CONSTRAINT holds_for_somebody CHECK (revoked_at IS NOT NULL OR member_id IS NOT NULL AND (kind = 'apiary') = (apiary_id IS NOT NULL));
COMMENT ON COLUMN calendar_link.member_id IS 'whose link it is, and for the kind member whose visits it shows; none for one that was left behind';
COMMENT ON COLUMN calendar_link.language IS 'of whoever left it behind';

-- +goose Down
DELETE FROM calendar_link WHERE member_id IS NULL OR kind = 'apiary' AND apiary_id IS NULL;
ALTER TABLE calendar_link
    DROP CONSTRAINT holds_for_somebody,
    DROP CONSTRAINT of_an_apiary,
    ADD CONSTRAINT of_an_apiary CHECK ((kind = 'apiary') = (apiary_id IS NOT NULL)),
    ALTER COLUMN member_id SET NOT NULL,
    DROP COLUMN language;
COMMENT ON COLUMN calendar_link.member_id IS 'whose link it is, and for the kind member whose visits it shows';
