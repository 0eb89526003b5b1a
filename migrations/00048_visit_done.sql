-- +goose NO TRANSACTION
-- +goose Up

-- The first page asks about boxes of visits that were done in the last month, of which a
-- club has few beside those to come. Built as the index of open visits was.
SET lock_timeout = '10s';
DROP INDEX CONCURRENTLY IF EXISTS visit_done;
RESET lock_timeout;
CREATE INDEX CONCURRENTLY visit_done ON visit (club_id, on_day) WHERE status = 'done';

-- +goose Down
SET lock_timeout = '10s';
DROP INDEX CONCURRENTLY IF EXISTS visit_done;
