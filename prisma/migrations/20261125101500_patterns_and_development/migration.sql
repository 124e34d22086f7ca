-- Counts per situation cut (only at the goal line, only late in halves), derived from the play log when patterns
-- are asked for and kept until the report is counted again. A report with a state row has been cut, even if it
-- has no cut rows.
CREATE TABLE cut_count_state (
  conference_id uuid NOT NULL,
  report_id     uuid NOT NULL,
  cuts_version  integer NOT NULL,
  counted_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, report_id),
  FOREIGN KEY (conference_id, report_id) REFERENCES report (conference_id, id) ON DELETE CASCADE
);

CREATE TABLE cut_count (
  conference_id uuid NOT NULL,
  report_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key      text NOT NULL,
  situation_cut text NOT NULL CHECK (length(situation_cut) BETWEEN 1 AND 60),
  opportunities integer NOT NULL CHECK (opportunities >= 1),
  not_met       integer NOT NULL CHECK (not_met >= 0),
  not_counted   integer NOT NULL CHECK (not_counted >= 0),
  model         integer NOT NULL CHECK (model >= 0),
  PRIMARY KEY (conference_id, report_id, person_id, duty_key, situation_cut),
  CHECK (not_met + not_counted + model <= opportunities),
  FOREIGN KEY (conference_id, report_id) REFERENCES cut_count_state (conference_id, report_id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);

-- A report counted again is cut again when next asked for.
CREATE FUNCTION counts_drop_cuts() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  DELETE FROM cut_count_state s
   WHERE EXISTS (SELECT FROM touched t WHERE t.conference_id = s.conference_id AND t.report_id = s.report_id);
  RETURN NULL;
END
$$;
CREATE TRIGGER counts_added_drop_cuts AFTER INSERT ON opportunity_count REFERENCING NEW TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION counts_drop_cuts();
CREATE TRIGGER counts_changed_drop_cuts AFTER UPDATE ON opportunity_count REFERENCING NEW TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION counts_drop_cuts();
CREATE TRIGGER counts_removed_drop_cuts AFTER DELETE ON opportunity_count REFERENCING OLD TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION counts_drop_cuts();

-- What the coordinator set for finding patterns; without a row the defaults hold.
CREATE TABLE pattern_setting (
  conference_id         uuid NOT NULL,
  season_id             uuid NOT NULL,
  false_discovery_rate  double precision NOT NULL CHECK (false_discovery_rate > 0 AND false_discovery_rate < 0.5),
  minimum_opportunities integer NOT NULL CHECK (minimum_opportunities BETWEEN 1 AND 10000),
  minimum_games         integer NOT NULL CHECK (minimum_games BETWEEN 1 AND 30),
  PRIMARY KEY (conference_id, season_id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE
);

-- A duty that the coordinator works on with one official. evidence is the pattern as it was when the point was
-- opened. An empty cut means the whole duty. There is one point for one habit: it is closed and opened again.
CREATE TABLE development_point (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key      text NOT NULL,
  situation_cut text NOT NULL DEFAULT '',
  state         text NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'closed')),
  evidence      jsonb CHECK (jsonb_typeof(evidence) = 'object'),
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, person_id, position, duty_key, situation_cut),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CREATE INDEX development_point_person ON development_point (conference_id, person_id);

-- What happened with a point, in order. Conversations and letters divide the season into before and after.
CREATE TABLE development_step (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  point_id      uuid NOT NULL,
  kind          text NOT NULL CHECK (kind IN ('opened', 'conversation', 'letter', 'note', 'closed', 'reopened')),
  happened_on   date NOT NULL,
  text          text NOT NULL DEFAULT '' CHECK (length(text) <= 4000),
  shared        boolean NOT NULL DEFAULT false,
  made_by       uuid,
  made_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, point_id) REFERENCES development_point (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id)
);
CREATE INDEX development_step_point ON development_step (conference_id, point_id, made_at);
