-- As before, and again letting through what erases a person's data and takes away what is no longer kept.
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
        FROM (SELECT DISTINCT conference_id, game_id FROM touched) t
       CROSS JOIN LATERAL (SELECT season_id FROM game
                            WHERE conference_id = t.conference_id AND id = t.game_id OFFSET 0) g;
    WHEN 'report' THEN
      SELECT array_agg(DISTINCT r.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM (SELECT DISTINCT conference_id, report_id FROM touched) t
       CROSS JOIN LATERAL (SELECT season_id FROM report
                            WHERE conference_id = t.conference_id AND id = t.report_id OFFSET 0) r;
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
