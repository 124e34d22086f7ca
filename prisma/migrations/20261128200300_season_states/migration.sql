-- Which season is meant is the coordinator's choice, not a matter of dates. A season is open while it is prepared,
-- running once reports are written in it, closed when it is over and may only be read.
ALTER TABLE season
  ADD COLUMN state text NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'running', 'closed')),
  ADD COLUMN opened_from_id uuid,
  ADD COLUMN closed_at timestamptz,
  ADD CHECK ((state = 'closed') = (closed_at IS NOT NULL)),
  ADD FOREIGN KEY (conference_id, opened_from_id) REFERENCES season (conference_id, id);

CREATE TABLE season_week (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  number        integer NOT NULL CHECK (number BETWEEN 0 AND 30),
  first_day     date NOT NULL,
  last_day      date NOT NULL,
  PRIMARY KEY (conference_id, season_id, number),
  CHECK (last_day >= first_day),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE
);

ALTER TABLE conference
  ADD COLUMN current_season_id uuid,
  ADD FOREIGN KEY (id, current_season_id) REFERENCES season (conference_id, id);

-- The season that a person chose to look at, until they sign in anew; null follows the conference's current one.
ALTER TABLE session
  ADD COLUMN season_id uuid,
  ADD FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id);

-- Until now the current season was the one with the latest kickoff, and any with a report was under way.
UPDATE season s SET state = 'running'
 WHERE EXISTS (SELECT FROM report r WHERE r.conference_id = s.conference_id AND r.season_id = s.id);
UPDATE conference c SET current_season_id = (
  SELECT s.id FROM season s
    LEFT JOIN game g ON g.conference_id = s.conference_id AND g.season_id = s.id
   WHERE s.conference_id = c.id
   GROUP BY s.id, s.created_at ORDER BY max(g.kickoff) DESC NULLS LAST, s.created_at DESC LIMIT 1);

-- A conference that has a season has a current one: its first, until the coordinator chooses another.
CREATE FUNCTION first_season_is_current() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE conference SET current_season_id = NEW.id
   WHERE id = NEW.conference_id AND current_season_id IS NULL;
  RETURN NULL;
END
$$;
CREATE TRIGGER season_first_is_current AFTER INSERT ON season
  FOR EACH ROW EXECUTE FUNCTION first_season_is_current();

-- A season runs from its first report, whether or not anybody said so.
CREATE FUNCTION report_starts_season() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE season SET state = 'running'
   WHERE conference_id = NEW.conference_id AND id = NEW.season_id AND state = 'open';
  RETURN NULL;
END
$$;
CREATE TRIGGER report_starts_season AFTER INSERT ON report
  FOR EACH ROW EXECUTE FUNCTION report_starts_season();
