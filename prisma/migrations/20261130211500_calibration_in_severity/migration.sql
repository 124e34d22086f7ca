-- Whether observers' marks of the same clips say, with the reports, how strict each observer is.
ALTER TABLE season ADD COLUMN calibration_in_severity boolean NOT NULL DEFAULT false;

-- A closed season keeps what its standings are by as well: the model, and whether clips are taken in.
DROP TRIGGER season_keeps_settings ON season;
CREATE TRIGGER season_keeps_settings BEFORE UPDATE ON season FOR EACH ROW
  WHEN (OLD.state = 'closed' AND NEW.state = 'closed'
        AND (OLD.name, OLD.crew_size, OLD.minimum_games, OLD.minimum_opportunities, OLD.postseason_places,
             OLD.fixed_model, OLD.calibration_in_severity)
            IS DISTINCT FROM
            (NEW.name, NEW.crew_size, NEW.minimum_games, NEW.minimum_opportunities, NEW.postseason_places,
             NEW.fixed_model, NEW.calibration_in_severity))
  EXECUTE FUNCTION closed_season_keeps_settings();
