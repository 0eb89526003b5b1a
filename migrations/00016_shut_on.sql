-- +goose Up

-- The day of a box's last try, where that left it shut: what was found then is
-- no word about the day on which it was last opened.
ALTER TABLE due ADD COLUMN shut_on date;

-- Whoever likes the whole checklist in the mail asks for it.
ALTER TABLE member ADD COLUMN long_mail boolean NOT NULL DEFAULT false;

-- +goose Down
ALTER TABLE member DROP COLUMN long_mail;
ALTER TABLE due DROP COLUMN shut_on;
