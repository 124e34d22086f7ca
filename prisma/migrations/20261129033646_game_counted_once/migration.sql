-- What a game counts for an official, however many observers reported on it: each chance once. What people are shown
-- comes from here; the grading model goes on taking reports one by one (opportunity_count). Kept in the transaction
-- that releases, revises or recounts a report of the game. differed: chances that one observer marked as missed and
-- another as done, counted neither way; they are among not_counted.
CREATE TABLE game_count (
  conference_id     uuid NOT NULL,
  game_id           uuid NOT NULL,
  person_id         uuid NOT NULL,
  position          text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key          text NOT NULL,
  rubric_version_id uuid NOT NULL,
  opportunities     integer NOT NULL CHECK (opportunities >= 1),
  not_met           integer NOT NULL CHECK (not_met >= 0),
  not_counted       integer NOT NULL CHECK (not_counted >= 0),
  differed          integer NOT NULL DEFAULT 0 CHECK (differed BETWEEN 0 AND not_counted),
  model             integer NOT NULL CHECK (model >= 0),
  cost_none         integer NOT NULL DEFAULT 0 CHECK (cost_none >= 0),
  cost_yards        integer NOT NULL DEFAULT 0 CHECK (cost_yards >= 0),
  cost_possession   integer NOT NULL DEFAULT 0 CHECK (cost_possession >= 0),
  cost_score        integer NOT NULL DEFAULT 0 CHECK (cost_score >= 0),
  PRIMARY KEY (conference_id, game_id, person_id, position, duty_key),
  CHECK (not_met + not_counted + model <= opportunities),
  CHECK (cost_none + cost_yards + cost_possession + cost_score <= not_met),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, rubric_version_id) REFERENCES rubric_version (conference_id, id)
);
CREATE INDEX game_count_person ON game_count (conference_id, person_id);

-- Games of one released report: its own counts.
INSERT INTO game_count (conference_id, game_id, person_id, position, duty_key, rubric_version_id, opportunities, not_met,
                        not_counted, model, cost_none, cost_yards, cost_possession, cost_score)
SELECT c.conference_id, r.game_id, c.person_id, c.position, c.duty_key, r.rubric_version_id, c.opportunities, c.not_met,
       c.not_counted, c.model, c.cost_none, c.cost_yards, c.cost_possession, c.cost_score
  FROM report r
  JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id AND c.opportunities > 0
 WHERE r.state = 'released'
   AND NOT EXISTS (SELECT FROM report o WHERE o.conference_id = r.conference_id AND o.game_id = r.game_id
                      AND o.id <> r.id AND o.state = 'released');

-- Games of several. Until now everybody was watched, so their reports hold the same chances: as many as the fuller one
-- has. What was said of them comes from the marks, the graver of each report's first.
WITH released AS (
  SELECT r.conference_id, r.id, r.game_id, r.rubric_version_id, v.number
    FROM report r JOIN rubric_version v ON v.conference_id = r.conference_id AND v.id = r.rubric_version_id
   WHERE r.state = 'released'
     AND EXISTS (SELECT FROM report o WHERE o.conference_id = r.conference_id AND o.game_id = r.game_id
                    AND o.id <> r.id AND o.state = 'released')),
chances AS (
  SELECT r.conference_id, r.game_id, c.person_id, c.position, c.duty_key, max(c.opportunities) AS opportunities,
         (array_agg(r.rubric_version_id ORDER BY r.number DESC))[1] AS rubric_version_id
    FROM released r
    JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id AND c.opportunities > 0
   GROUP BY r.conference_id, r.game_id, c.person_id, c.position, c.duty_key),
of_report AS (
  SELECT r.conference_id, r.game_id, r.id, o.person_id, o.position, o.duty_key,
         CASE WHEN d.definition ->> 'per' = 'game' THEN r.game_id ELSE o.play_id END AS chance,
         bool_or(o.finding IN ('missed', 'wrong call', 'missed foul')) AS missed,
         bool_or(o.finding IN ('done', 'model', 'right call', 'right no-call')) AS met,
         bool_or(o.finding = 'model') AS model,
         max(array_position(ARRAY['none', 'yards', 'possession', 'score'], o.consequence)) AS cost
    FROM released r
    JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL
                      AND o.standing = 'counted'
    JOIN play p ON p.conference_id = o.conference_id AND p.id = o.play_id AND p.removed_at IS NULL
    JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
               AND d.key = o.duty_key
   GROUP BY 1, 2, 3, 4, 5, 6, 7),
said AS (
  SELECT conference_id, game_id, person_id, position, duty_key, chance, bool_or(missed) AS missed,
         bool_or(met AND NOT missed) AS met, bool_or(model AND NOT missed) AS model, max(cost) AS cost
    FROM of_report GROUP BY 1, 2, 3, 4, 5, 6),
sums AS (
  SELECT conference_id, game_id, person_id, position, duty_key,
         count(*) FILTER (WHERE missed AND NOT met) AS not_met,
         count(*) FILTER (WHERE missed = met) AS not_counted,
         count(*) FILTER (WHERE missed AND met) AS differed,
         count(*) FILTER (WHERE model AND NOT missed) AS model,
         count(*) FILTER (WHERE missed AND NOT met AND cost = 1) AS cost_none,
         count(*) FILTER (WHERE missed AND NOT met AND cost = 2) AS cost_yards,
         count(*) FILTER (WHERE missed AND NOT met AND cost = 3) AS cost_possession,
         count(*) FILTER (WHERE missed AND NOT met AND cost = 4) AS cost_score
    FROM said GROUP BY 1, 2, 3, 4, 5)
INSERT INTO game_count (conference_id, game_id, person_id, position, duty_key, rubric_version_id, opportunities, not_met,
                        not_counted, differed, model, cost_none, cost_yards, cost_possession, cost_score)
SELECT c.conference_id, c.game_id, c.person_id, c.position, c.duty_key, c.rubric_version_id,
       greatest(c.opportunities, coalesce(s.not_met + s.not_counted + s.model, 0)), coalesce(s.not_met, 0),
       coalesce(s.not_counted, 0), coalesce(s.differed, 0), coalesce(s.model, 0), coalesce(s.cost_none, 0),
       coalesce(s.cost_yards, 0), coalesce(s.cost_possession, 0), coalesce(s.cost_score, 0)
  FROM chances c
  LEFT JOIN sums s ON s.conference_id = c.conference_id AND s.game_id = c.game_id AND s.person_id = c.person_id
                  AND s.position = c.position AND s.duty_key = c.duty_key;

-- Counts by situation are a game's too, derived when next asked for.
DROP TRIGGER counts_added_drop_cuts ON opportunity_count;
DROP TRIGGER counts_changed_drop_cuts ON opportunity_count;
DROP TRIGGER counts_removed_drop_cuts ON opportunity_count;
DROP FUNCTION counts_drop_cuts();
DROP TABLE cut_count;
DROP TABLE cut_count_state;
CREATE TABLE cut_count_state (
  conference_id uuid NOT NULL,
  game_id       uuid NOT NULL,
  cuts_version  integer NOT NULL,
  counted_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, game_id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id) ON DELETE CASCADE
);
CREATE TABLE cut_count (
  conference_id uuid NOT NULL,
  game_id       uuid NOT NULL,
  person_id     uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key      text NOT NULL,
  situation_cut text NOT NULL CHECK (length(situation_cut) BETWEEN 1 AND 60),
  opportunities integer NOT NULL CHECK (opportunities >= 1),
  not_met       integer NOT NULL CHECK (not_met >= 0),
  not_counted   integer NOT NULL CHECK (not_counted >= 0),
  model         integer NOT NULL CHECK (model >= 0),
  PRIMARY KEY (conference_id, game_id, person_id, position, duty_key, situation_cut),
  CHECK (not_met + not_counted + model <= opportunities),
  FOREIGN KEY (conference_id, game_id) REFERENCES cut_count_state (conference_id, game_id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);

-- A game counted again moves its season's revision, and its cuts are found anew.
CREATE FUNCTION game_count_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  DELETE FROM cut_count_state s
   WHERE EXISTS (SELECT FROM touched t WHERE t.conference_id = s.conference_id AND t.game_id = s.game_id);
  UPDATE season s SET input_revision = input_revision + 1
   WHERE EXISTS (SELECT FROM touched t JOIN game g ON g.conference_id = t.conference_id AND g.id = t.game_id
                  WHERE g.conference_id = s.conference_id AND g.season_id = s.id);
  RETURN NULL;
END
$$;
CREATE TRIGGER game_count_added AFTER INSERT ON game_count REFERENCING NEW TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION game_count_changed();
CREATE TRIGGER game_count_changed AFTER UPDATE ON game_count REFERENCING NEW TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION game_count_changed();
CREATE TRIGGER game_count_removed AFTER DELETE ON game_count REFERENCING OLD TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION game_count_changed();
