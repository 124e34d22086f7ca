-- Whether what the season before showed of its officials stands beside this season's reports in their grades.
ALTER TABLE season ADD COLUMN last_season_in_grades boolean NOT NULL DEFAULT false;

-- A closed season keeps what its standings are by: the model, and whether clips and the season before are taken in.
DROP TRIGGER season_keeps_settings ON season;
CREATE TRIGGER season_keeps_settings BEFORE UPDATE ON season FOR EACH ROW
  WHEN (OLD.state = 'closed' AND NEW.state = 'closed'
        AND (OLD.name, OLD.crew_size, OLD.minimum_games, OLD.minimum_opportunities, OLD.postseason_places,
             OLD.fixed_model, OLD.calibration_in_severity, OLD.last_season_in_grades)
            IS DISTINCT FROM
            (NEW.name, NEW.crew_size, NEW.minimum_games, NEW.minimum_opportunities, NEW.postseason_places,
             NEW.fixed_model, NEW.calibration_in_severity, NEW.last_season_in_grades))
  EXECUTE FUNCTION closed_season_keeps_settings();
