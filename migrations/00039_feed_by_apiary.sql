-- +goose Up

-- A calendar of many apiaries is made anew from those that changed.
ALTER TABLE club ADD COLUMN feed_whole bigint NOT NULL DEFAULT 0;
COMMENT ON COLUMN club.feed_whole IS 'the feed version of the last change that more than the entries of certain apiaries may show';
ALTER TABLE apiary ADD COLUMN feed_version bigint NOT NULL DEFAULT 0;
COMMENT ON COLUMN apiary.feed_version IS 'of the club, when entries of this apiary alone changed last';

-- +goose Down
ALTER TABLE apiary DROP COLUMN feed_version;
ALTER TABLE club DROP COLUMN feed_whole;
