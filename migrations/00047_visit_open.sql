-- +goose NO TRANSACTION
-- +goose Up

-- The first page reads a club's open visits by day, of which it shows the first and
-- counts the others. The index is built while reading and writing go on; a build that
-- was broken off left one that nothing uses, which goes first.
SET lock_timeout = '10s';
DROP INDEX CONCURRENTLY IF EXISTS visit_open;
RESET lock_timeout;
CREATE INDEX CONCURRENTLY visit_open ON visit (club_id, on_day, apiary_id, id) INCLUDE (no_time) WHERE status IN ('tentative', 'confirmed');

-- +goose Down
SET lock_timeout = '10s';
DROP INDEX CONCURRENTLY IF EXISTS visit_open;
