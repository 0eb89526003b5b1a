-- +goose Up

-- The serving role's sessions are kept from reading whole tables. This function
-- reads every club and member, so an index would only be a detour.
ALTER FUNCTION club_versions() SET enable_seqscan = on;

-- +goose Down
ALTER FUNCTION club_versions() RESET enable_seqscan;
