-- +goose Up

-- A number that the member entered for those who go on a visit with them, and for
-- organisers. It is taken as written.
ALTER TABLE member ADD COLUMN phone text NOT NULL DEFAULT '' CHECK (char_length(phone) <= 40);

-- +goose Down
ALTER TABLE member DROP COLUMN phone;
