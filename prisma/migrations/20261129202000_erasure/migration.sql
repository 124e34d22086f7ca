-- Erasing a person's data and what a conference no longer keeps: these guards let it through. They are against mistakes
-- of the program, which sets this for the transaction that erases and no other.
CREATE OR REPLACE FUNCTION letter_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN COALESCE(NEW, OLD); END IF;
  RAISE EXCEPTION 'letter % was released; a released letter is not changed or deleted', OLD.id
    USING ERRCODE = 'restrict_violation';
END
$$;

CREATE OR REPLACE FUNCTION refuse_when_closed() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  seasons uuid[];
  conference uuid;
  closed text;
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN NULL; END IF;
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

CREATE OR REPLACE FUNCTION report_moves_season() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN NULL; END IF;
  UPDATE season SET input_revision = input_revision + 1
   WHERE conference_id = COALESCE(NEW.conference_id, OLD.conference_id)
     AND id = COALESCE(NEW.season_id, OLD.season_id);
  RETURN NULL;
END
$$;

CREATE FUNCTION take_away_words_of_revision(of_conference uuid, of_report uuid, of_revision integer, new_reason text, new_content jsonb)
RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  outside text := COALESCE(current_setting('crewmark.taking_away', true), '');
BEGIN
  PERFORM set_config('crewmark.taking_away', 'on', true);
  UPDATE report_revision SET reason = new_reason, content = new_content
   WHERE conference_id = of_conference AND report_id = of_report AND revision = of_revision;
  PERFORM set_config('crewmark.taking_away', outside, true);
END
$$;
REVOKE EXECUTE ON FUNCTION take_away_words_of_revision FROM PUBLIC;
GRANT EXECUTE ON FUNCTION take_away_words_of_revision TO crewmark_app;

CREATE FUNCTION take_away_words_of_change(of_conference uuid, of_report uuid, of_id uuid, new_content jsonb, new_theirs jsonb)
RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  outside text := COALESCE(current_setting('crewmark.taking_away', true), '');
BEGIN
  PERFORM set_config('crewmark.taking_away', 'on', true);
  UPDATE report_change SET content = new_content, theirs = new_theirs
   WHERE conference_id = of_conference AND report_id = of_report AND id = of_id;
  PERFORM set_config('crewmark.taking_away', outside, true);
END
$$;
REVOKE EXECUTE ON FUNCTION take_away_words_of_change FROM PUBLIC;
GRANT EXECUTE ON FUNCTION take_away_words_of_change TO crewmark_app;

ALTER TABLE person ADD COLUMN erased_at timestamptz;
