-- A kept result says all that it rests on: the revision of the released counts, whatever else it was computed from
-- (settings, weights), and the number of the method. What was kept without is found anew.
ALTER TABLE standings_result RENAME TO kept_result;
ALTER TABLE kept_result RENAME CONSTRAINT standings_result_pkey TO kept_result_pkey;
ALTER TABLE kept_result RENAME CONSTRAINT standings_result_conference_id_season_id_fkey TO kept_result_conference_id_season_id_fkey;
DELETE FROM kept_result;
ALTER TABLE kept_result
  ADD COLUMN basis  jsonb   NOT NULL,
  ADD COLUMN method integer NOT NULL CHECK (method >= 1);

-- A letter's figures rest on the same; without, a draft is taken to be out of date.
ALTER TABLE letter ADD COLUMN grounds jsonb;

-- Week and crew of a game are part of what standings and patterns are computed from.
CREATE FUNCTION game_moves_season() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE season s SET input_revision = input_revision + 1
   WHERE s.conference_id = NEW.conference_id
     AND s.id IN (SELECT r.season_id FROM report r
                   WHERE r.conference_id = NEW.conference_id AND r.game_id = NEW.id AND r.state = 'released');
  RETURN NULL;
END
$$;
CREATE TRIGGER game_of_released_report_moved AFTER UPDATE ON game FOR EACH ROW
  WHEN (OLD.week IS DISTINCT FROM NEW.week OR OLD.crew_id IS DISTINCT FROM NEW.crew_id)
  EXECUTE FUNCTION game_moves_season();
