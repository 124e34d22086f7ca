-- A closed season is read only, whoever writes: a page, the API, an import, a command, work in the background. It is
-- refused here, in one place, with the sentence that people are shown (SQLSTATE CM409, server/web/problem.ts).
-- What is only computed from a season (kept results, counts by situation, deliveries of letters) stays free.

-- The seasons of the changed rows are held against closing until the transaction ends; the second statement sees what
-- a closing that was waited for has left.
CREATE FUNCTION refuse_when_closed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  seasons uuid[];
  conference uuid;
  closed text;
BEGIN
  CASE TG_ARGV[0]
    WHEN 'season' THEN
      SELECT array_agg(DISTINCT t.season_id), min(t.conference_id::text)::uuid INTO seasons, conference FROM touched t;
    WHEN 'game' THEN
      SELECT array_agg(DISTINCT g.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t JOIN game g ON g.conference_id = t.conference_id AND g.id = t.game_id;
    WHEN 'report' THEN
      SELECT array_agg(DISTINCT r.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t JOIN report r ON r.conference_id = t.conference_id AND r.id = t.report_id;
    WHEN 'observation' THEN
      SELECT array_agg(DISTINCT r.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t
        JOIN observation o ON o.conference_id = t.conference_id AND o.id = t.observation_id
        JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id;
    WHEN 'reply' THEN
      SELECT array_agg(DISTINCT r.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t
        JOIN reply y ON y.conference_id = t.conference_id AND y.id = t.reply_id
        JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
        JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id;
    WHEN 'crew' THEN
      SELECT array_agg(DISTINCT c.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t JOIN crew c ON c.conference_id = t.conference_id AND c.id = t.crew_id;
    WHEN 'rubric version' THEN
      SELECT array_agg(DISTINCT v.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t
        JOIN rubric_version v ON v.conference_id = t.conference_id AND v.id = t.rubric_version_id;
    WHEN 'development point' THEN
      SELECT array_agg(DISTINCT p.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t
        JOIN development_point p ON p.conference_id = t.conference_id AND p.id = t.point_id;
  END CASE;
  IF seasons IS NULL THEN RETURN NULL; END IF;
  PERFORM FROM season s WHERE s.conference_id = conference AND s.id = ANY (seasons) ORDER BY s.id FOR KEY SHARE;
  SELECT s.name INTO closed FROM season s
   WHERE s.conference_id = conference AND s.id = ANY (seasons) AND s.state = 'closed' LIMIT 1;
  IF closed IS NOT NULL THEN
    RAISE EXCEPTION 'Season % is closed: it can be read, not changed. A coordinator can reopen it on the Seasons page.', closed
      USING ERRCODE = 'CM409';
  END IF;
  RETURN NULL;
END
$$;

-- For a table whose rows belong to a season, by way of the column that `path` names.
CREATE PROCEDURE read_only_when_closed(tbl regclass, path text) LANGUAGE plpgsql AS $$
BEGIN
  EXECUTE format('CREATE TRIGGER read_only_when_closed_add AFTER INSERT ON %s REFERENCING NEW TABLE AS touched
                    FOR EACH STATEMENT EXECUTE FUNCTION refuse_when_closed(%L)', tbl, path);
  EXECUTE format('CREATE TRIGGER read_only_when_closed_change AFTER UPDATE ON %s REFERENCING NEW TABLE AS touched
                    FOR EACH STATEMENT EXECUTE FUNCTION refuse_when_closed(%L)', tbl, path);
  EXECUTE format('CREATE TRIGGER read_only_when_closed_remove AFTER DELETE ON %s REFERENCING OLD TABLE AS touched
                    FOR EACH STATEMENT EXECUTE FUNCTION refuse_when_closed(%L)', tbl, path);
END
$$;

CALL read_only_when_closed('season_week', 'season');
CALL read_only_when_closed('crew', 'season');
CALL read_only_when_closed('crew_member', 'crew');
CALL read_only_when_closed('game', 'season');
CALL read_only_when_closed('working_crew_member', 'game');
CALL read_only_when_closed('game_coverage', 'game');
CALL read_only_when_closed('play', 'game');
CALL read_only_when_closed('rubric_version', 'season');
CALL read_only_when_closed('duty', 'rubric version');
CALL read_only_when_closed('observer_assignment', 'game');
CALL read_only_when_closed('observer_plan_setting', 'season');
CALL read_only_when_closed('report', 'season');
CALL read_only_when_closed('observation', 'report');
CALL read_only_when_closed('opportunity_count', 'report');
CALL read_only_when_closed('report_change', 'report');
CALL read_only_when_closed('reply', 'observation');
CALL read_only_when_closed('ruling', 'reply');
CALL read_only_when_closed('pattern_setting', 'season');
CALL read_only_when_closed('development_point', 'season');
CALL read_only_when_closed('development_step', 'development point');
CALL read_only_when_closed('letter_batch', 'season');
CALL read_only_when_closed('letter', 'season');
CALL read_only_when_closed('training_program', 'season');

-- The season's own settings.
CREATE FUNCTION closed_season_keeps_settings() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'Season % is closed: it can be read, not changed. A coordinator can reopen it on the Seasons page.', OLD.name
    USING ERRCODE = 'CM409';
END
$$;
CREATE TRIGGER season_keeps_settings BEFORE UPDATE ON season FOR EACH ROW
  WHEN (OLD.state = 'closed' AND NEW.state = 'closed'
        AND (OLD.name, OLD.crew_size, OLD.minimum_games, OLD.minimum_opportunities, OLD.postseason_places)
            IS DISTINCT FROM
            (NEW.name, NEW.crew_size, NEW.minimum_games, NEW.minimum_opportunities, NEW.postseason_places))
  EXECUTE FUNCTION closed_season_keeps_settings();

-- The season's book as it was when the season was closed; a later closing keeps another beside it.
CREATE TABLE season_book (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  closed_at     timestamptz NOT NULL,
  sha256        text NOT NULL CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  pdf           bytea NOT NULL,
  PRIMARY KEY (conference_id, season_id, closed_at),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id)
);
