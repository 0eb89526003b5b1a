-- +goose NO TRANSACTION
-- +goose Up

-- What the program never writes, the database now refuses too, whoever writes.
-- Rows that stand already are looked at in the next step: NOT VALID makes this
-- one a matter of moments. Each statement is a transaction of its own, so that
-- no two tables are locked at once, and none waits long for its lock, since
-- everybody else would wait behind it: run it again when it gives up.
SET lock_timeout = '10s';

ALTER TABLE due
    DROP CONSTRAINT IF EXISTS reason_is_known,
    DROP CONSTRAINT IF EXISTS last_hard_is_a_degree,
    ADD CONSTRAINT reason_is_known CHECK (reason IN ('', 'odds', 'longest-wait', 'required', 'above')) NOT VALID,
    ADD CONSTRAINT last_hard_is_a_degree CHECK (last_hard BETWEEN -1 AND 4) NOT VALID;

-- BETWEEN refuses NaN and infinities as well.
ALTER TABLE box_state
    DROP CONSTRAINT IF EXISTS odds_are_a_chance,
    DROP CONSTRAINT IF EXISTS numbers_are_finite,
    ADD CONSTRAINT odds_are_a_chance CHECK (odds BETWEEN 0 AND 1) NOT VALID,
    ADD CONSTRAINT numbers_are_finite CHECK (
        sealing_days BETWEEN 0 AND 1e6 AND rate_mean BETWEEN -1e3 AND 1e3 AND rate_variance BETWEEN 0 AND 1e3) NOT VALID;

ALTER TABLE gap
    DROP CONSTRAINT IF EXISTS place_is_known,
    ADD CONSTRAINT place_is_known CHECK (at IN (
        'above-frames', 'between-frames', 'end-bar-to-box', 'frame-to-wall', 'between-boxes', 'below-frames',
        'entrance', 'frame-lug')) NOT VALID;

ALTER TABLE opening
    DROP CONSTRAINT IF EXISTS conditions_are_known,
    ADD CONSTRAINT conditions_are_known CHECK (condition <@ ARRAY[
        'warped', 'cracked', 'rot', 'corner-loose', 'rest-worn', 'lug-broken', 'frame-broken', 'frame-missing',
        'comb-damaged', 'wax-moth', 'hive-beetle', 'lid-damaged', 'floor-damaged', 'excluder-bent', 'mixed-makers',
        'brood-suspect']) NOT VALID;

ALTER TABLE message
    DROP CONSTRAINT IF EXISTS kind_is_known,
    DROP CONSTRAINT IF EXISTS items_are_a_list,
    ADD CONSTRAINT kind_is_known CHECK (kind IN (
        'digest', 'day', 'overdue', 'escalation', 'moved', 'sign-in', 'invitation', 'new-address', 'old-address')) NOT VALID,
    ADD CONSTRAINT items_are_a_list CHECK (jsonb_typeof(items) = 'array') NOT VALID;

ALTER TABLE told
    DROP CONSTRAINT IF EXISTS kind_is_known,
    DROP CONSTRAINT IF EXISTS about_its_kind,
    ADD CONSTRAINT kind_is_known CHECK (kind IN (
        'digest', 'day', 'overdue', 'escalation', 'moved', 'sign-in', 'invitation', 'new-address', 'old-address')) NOT VALID,
    ADD CONSTRAINT about_its_kind CHECK (about IN ('', kind)) NOT VALID;

-- Arrays: every element in its range, none of them null, and no more of them
-- than there are different ones.
ALTER TABLE member
    DROP CONSTRAINT IF EXISTS days_before_are_days,
    DROP CONSTRAINT IF EXISTS muted_kinds_are_known,
    ADD CONSTRAINT days_before_are_days CHECK (
        0 <= ALL (days_before) AND 60 >= ALL (days_before) AND cardinality(days_before) <= 61
        AND array_position(days_before, NULL) IS NULL) NOT VALID,
    ADD CONSTRAINT muted_kinds_are_known CHECK (mute <@ ARRAY[
        'digest', 'day', 'overdue', 'escalation', 'moved', 'sign-in', 'invitation', 'new-address', 'old-address']) NOT VALID;

ALTER TABLE hive
    DROP CONSTRAINT IF EXISTS requeened_on_days,
    ADD CONSTRAINT requeened_on_days CHECK (array_position(requeened, NULL) IS NULL) NOT VALID;

ALTER TABLE box
    DROP CONSTRAINT IF EXISTS repaired_on_days,
    ADD CONSTRAINT repaired_on_days CHECK (array_position(repaired, NULL) IS NULL) NOT VALID;

ALTER TABLE box_place
    DROP CONSTRAINT IF EXISTS place_in_the_stack,
    ADD CONSTRAINT place_in_the_stack CHECK (position >= 0) NOT VALID;

-- The ranges of the portable form.
ALTER TABLE box_kind
    DROP CONSTRAINT IF EXISTS sizes_are_of_boxes,
    DROP CONSTRAINT IF EXISTS weights_are_of_boxes,
    DROP CONSTRAINT IF EXISTS holds_some_frames,
    ADD CONSTRAINT sizes_are_of_boxes CHECK (
        depth_mm BETWEEN 20 AND 1000 AND width_mm BETWEEN 0 AND 2000 AND inside_mm BETWEEN 0 AND 2000
        AND frame_mm BETWEEN 0 AND 2000 AND frame_length_mm BETWEEN 0 AND 2000 AND top_bar_mm BETWEEN 0 AND 2000
        AND rest_mm BETWEEN 0 AND 2000) NOT VALID,
    ADD CONSTRAINT weights_are_of_boxes CHECK (empty_kg BETWEEN 0.1 AND 200 AND full_kg BETWEEN empty_kg AND 200) NOT VALID,
    ADD CONSTRAINT holds_some_frames CHECK (frames BETWEEN 0 AND 60) NOT VALID;

ALTER TABLE rules
    DROP CONSTRAINT IF EXISTS document_is_an_object,
    ADD CONSTRAINT document_is_an_object CHECK (jsonb_typeof(document) = 'object') NOT VALID;

RESET lock_timeout;

-- +goose Down
ALTER TABLE rules DROP CONSTRAINT document_is_an_object;
ALTER TABLE box_kind
    DROP CONSTRAINT sizes_are_of_boxes, DROP CONSTRAINT weights_are_of_boxes, DROP CONSTRAINT holds_some_frames;
ALTER TABLE box_place DROP CONSTRAINT place_in_the_stack;
ALTER TABLE box DROP CONSTRAINT repaired_on_days;
ALTER TABLE hive DROP CONSTRAINT requeened_on_days;
ALTER TABLE member DROP CONSTRAINT days_before_are_days, DROP CONSTRAINT muted_kinds_are_known;
ALTER TABLE told DROP CONSTRAINT kind_is_known, DROP CONSTRAINT about_its_kind;
ALTER TABLE message DROP CONSTRAINT kind_is_known, DROP CONSTRAINT items_are_a_list;
ALTER TABLE opening DROP CONSTRAINT conditions_are_known;
ALTER TABLE gap DROP CONSTRAINT place_is_known;
ALTER TABLE box_state DROP CONSTRAINT odds_are_a_chance, DROP CONSTRAINT numbers_are_finite;
ALTER TABLE due DROP CONSTRAINT reason_is_known, DROP CONSTRAINT last_hard_is_a_degree;
