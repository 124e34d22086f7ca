-- Every table carries conference_id first in its keys: a row belongs to one conference, a foreign key cannot
-- reach into another, and the tables can be distributed by that column.

-- The application works as this role; what it may not do (rewrite history) is refused by the database itself.
DO $$
BEGIN
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'crewmark_app') THEN
    BEGIN
      CREATE ROLE crewmark_app NOLOGIN;
    EXCEPTION
      WHEN duplicate_object OR unique_violation THEN NULL; -- another process made it at the same moment
    END;
  END IF;
  IF NOT pg_has_role(current_user, 'crewmark_app', 'MEMBER') THEN
    EXECUTE format('GRANT crewmark_app TO %I', current_user);
  END IF;
END
$$;

CREATE TABLE conference (
  id            uuid PRIMARY KEY DEFAULT gen_random_uuid(),
  slug          text NOT NULL UNIQUE CHECK (slug ~ '^[a-z0-9][a-z0-9-]{0,62}$'),
  name          text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  time_zone     text NOT NULL DEFAULT 'America/Chicago',
  policy_text   text NOT NULL DEFAULT '',
  reply_days    integer NOT NULL DEFAULT 10 CHECK (reply_days BETWEEN 0 AND 365),
  created_at    timestamptz NOT NULL DEFAULT now()
);

-- People and access ------------------------------------------------------------------------------------------
CREATE TABLE person (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  email         text NOT NULL CHECK (email = lower(email) AND email LIKE '%_@_%'),
  given_name    text NOT NULL CHECK (length(given_name) BETWEEN 1 AND 100),
  family_name   text NOT NULL CHECK (length(family_name) BETWEEN 1 AND 100),
  password_hash text,
  active        boolean NOT NULL DEFAULT true,
  home_place    text,
  home_latitude  double precision CHECK (home_latitude BETWEEN -90 AND 90),
  home_longitude double precision CHECK (home_longitude BETWEEN -180 AND 180),
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, email)
);
CREATE INDEX person_email ON person (email);

CREATE TABLE person_role (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  role          text NOT NULL CHECK (role IN ('coordinator', 'observer', 'official')),
  PRIMARY KEY (conference_id, person_id, role),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);

-- Found by token, before the conference is known: the token's hash is the key.
CREATE TABLE session (
  token_hash    text PRIMARY KEY,
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  csrf_token    text NOT NULL,
  created_at    timestamptz NOT NULL DEFAULT now(),
  last_seen_at  timestamptz NOT NULL DEFAULT now(),
  expires_at    timestamptz NOT NULL,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX session_person ON session (conference_id, person_id);
CREATE INDEX session_expiry ON session (expires_at);

CREATE TABLE account_link (
  token_hash    text PRIMARY KEY,
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  purpose       text NOT NULL CHECK (purpose IN ('invitation', 'reset')),
  created_at    timestamptz NOT NULL DEFAULT now(),
  expires_at    timestamptz NOT NULL,
  used_at       timestamptz,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX account_link_person ON account_link (conference_id, person_id);

-- Each row carries the hash of the one before: removing or changing a row breaks the chain.
CREATE TABLE audit_entry (
  conference_id uuid NOT NULL REFERENCES conference (id),
  number        bigint NOT NULL CHECK (number > 0),
  at            timestamptz NOT NULL,
  actor_id      uuid,
  action        text NOT NULL CHECK (length(action) BETWEEN 1 AND 100),
  subject_kind  text NOT NULL,
  subject_id    text NOT NULL,
  reason        text,
  before        jsonb,
  after         jsonb,
  previous_hash text NOT NULL,
  hash          text NOT NULL,
  PRIMARY KEY (conference_id, number)
);
CREATE INDEX audit_entry_subject ON audit_entry (conference_id, subject_kind, subject_id, number);

-- Seasons, teams, games, crews -------------------------------------------------------------------------------
CREATE TABLE season (
  conference_id  uuid NOT NULL REFERENCES conference (id),
  id             uuid NOT NULL DEFAULT gen_random_uuid(),
  name           text NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
  crew_size      integer NOT NULL DEFAULT 8 CHECK (crew_size BETWEEN 4 AND 8),
  minimum_games  integer NOT NULL DEFAULT 3 CHECK (minimum_games >= 1),
  minimum_opportunities integer NOT NULL DEFAULT 100 CHECK (minimum_opportunities >= 1),
  postseason_places integer NOT NULL DEFAULT 2 CHECK (postseason_places >= 1),
  input_revision bigint NOT NULL DEFAULT 1,
  created_at     timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, name)
);

CREATE TABLE venue (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  name          text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  place         text NOT NULL DEFAULT '',
  latitude      double precision NOT NULL CHECK (latitude BETWEEN -90 AND 90),
  longitude     double precision NOT NULL CHECK (longitude BETWEEN -180 AND 180),
  time_zone     text NOT NULL,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, name)
);

CREATE TABLE team (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  name          text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  venue_id      uuid,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, name),
  FOREIGN KEY (conference_id, venue_id) REFERENCES venue (conference_id, id)
);

CREATE TABLE crew (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  name          text NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, name),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id)
);

CREATE TABLE crew_member (
  conference_id uuid NOT NULL,
  crew_id       uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  person_id     uuid NOT NULL,
  PRIMARY KEY (conference_id, crew_id, position),
  UNIQUE (conference_id, crew_id, person_id),
  FOREIGN KEY (conference_id, crew_id) REFERENCES crew (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CREATE INDEX crew_member_person ON crew_member (conference_id, person_id);

CREATE TABLE game (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  key           text NOT NULL CHECK (length(key) BETWEEN 1 AND 100),
  week          integer NOT NULL CHECK (week BETWEEN 0 AND 30),
  kickoff       timestamptz NOT NULL,
  home_team_id  uuid NOT NULL,
  visiting_team_id uuid NOT NULL CHECK (visiting_team_id <> home_team_id),
  venue_id      uuid NOT NULL,
  crew_id       uuid,
  film_link     text,
  crew_confirmed_at timestamptz,
  play_log_revision bigint NOT NULL DEFAULT 1,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, key),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, home_team_id) REFERENCES team (conference_id, id),
  FOREIGN KEY (conference_id, visiting_team_id) REFERENCES team (conference_id, id),
  FOREIGN KEY (conference_id, venue_id) REFERENCES venue (conference_id, id),
  FOREIGN KEY (conference_id, crew_id) REFERENCES crew (conference_id, id)
);
CREATE INDEX game_week ON game (conference_id, season_id, week);

-- Who really worked the game.
CREATE TABLE working_crew_member (
  conference_id uuid NOT NULL,
  game_id       uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  person_id     uuid NOT NULL,
  PRIMARY KEY (conference_id, game_id, position),
  UNIQUE (conference_id, game_id, person_id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CREATE INDEX working_crew_member_person ON working_crew_member (conference_id, person_id);

-- Facts beyond the named columns are the other optional facts of a play, validated by the application.
CREATE TABLE play (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  game_id       uuid NOT NULL,
  number        integer NOT NULL CHECK (number >= 1),
  kind          text NOT NULL,
  spot          integer NOT NULL CHECK (spot BETWEEN 0 AND 100),
  quarter       integer CHECK (quarter BETWEEN 1 AND 20),
  clock_seconds integer CHECK (clock_seconds BETWEEN 0 AND 900),
  down          integer CHECK (down BETWEEN 1 AND 4),
  distance      integer CHECK (distance BETWEEN 1 AND 99),
  film_seconds  double precision CHECK (film_seconds >= 0),
  facts         jsonb NOT NULL DEFAULT '{}' CHECK (jsonb_typeof(facts) = 'object'),
  note          text NOT NULL DEFAULT '',
  version       integer NOT NULL DEFAULT 1,
  removed_at    timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id) ON DELETE CASCADE
);
CREATE UNIQUE INDEX play_number ON play (conference_id, game_id, number) WHERE removed_at IS NULL;
CREATE INDEX play_game ON play (conference_id, game_id);

-- Rubric ------------------------------------------------------------------------------------------------------
CREATE TABLE rubric_version (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  number        integer NOT NULL CHECK (number >= 1),
  note          text NOT NULL DEFAULT '',
  created_by    uuid,
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, number),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id)
);

-- definition holds the whole duty as data; the columns beside it are those that SQL reads.
CREATE TABLE duty (
  conference_id uuid NOT NULL,
  rubric_version_id uuid NOT NULL,
  key           text NOT NULL CHECK (key ~ '^[a-z0-9][a-z0-9-]{0,99}$'),
  title         text NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
  category      text NOT NULL CHECK (length(category) BETWEEN 1 AND 100),
  graded_as     text NOT NULL CHECK (graded_as IN ('mechanics', 'call')),
  weight        double precision NOT NULL CHECK (weight > 0 AND weight < 'Infinity'),
  definition    jsonb NOT NULL CHECK (jsonb_typeof(definition) = 'object'),
  PRIMARY KEY (conference_id, rubric_version_id, key),
  FOREIGN KEY (conference_id, rubric_version_id) REFERENCES rubric_version (conference_id, id) ON DELETE CASCADE
);

-- Reports -----------------------------------------------------------------------------------------------------
CREATE TABLE observer_assignment (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  game_id       uuid NOT NULL,
  observer_id   uuid NOT NULL,
  how           text NOT NULL CHECK (how IN ('in person', 'film')),
  answer        text NOT NULL DEFAULT 'offered' CHECK (answer IN ('offered', 'accepted', 'declined')),
  offered_at    timestamptz NOT NULL DEFAULT now(),
  answered_at   timestamptz,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, game_id, observer_id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, observer_id) REFERENCES person (conference_id, id)
);
CREATE INDEX observer_assignment_observer ON observer_assignment (conference_id, observer_id);

CREATE TABLE report (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  game_id       uuid NOT NULL,
  observer_id   uuid NOT NULL,
  state         text NOT NULL DEFAULT 'draft' CHECK (state IN ('draft', 'filed', 'returned', 'accepted', 'released')),
  revision      integer NOT NULL DEFAULT 1 CHECK (revision >= 1),
  rubric_version_id uuid,
  general_comment text NOT NULL DEFAULT '',
  returned_reason text,
  created_at    timestamptz NOT NULL DEFAULT now(),
  filed_at      timestamptz,
  accepted_at   timestamptz,
  released_at   timestamptz,
  reply_until   timestamptz,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, game_id, observer_id),
  CHECK (state <> 'returned' OR length(returned_reason) > 0),
  CHECK (state IN ('draft', 'returned') OR (filed_at IS NOT NULL AND rubric_version_id IS NOT NULL)),
  CHECK (state <> 'released' OR released_at IS NOT NULL),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id),
  FOREIGN KEY (conference_id, observer_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, rubric_version_id) REFERENCES rubric_version (conference_id, id)
);
CREATE INDEX report_season_state ON report (conference_id, season_id, state);
CREATE INDEX report_observer ON report (conference_id, observer_id);

-- ids are made on the observer's device, so that a repeated send is the same row.
CREATE TABLE observation (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL,
  report_id     uuid NOT NULL,
  play_id       uuid NOT NULL,
  person_id     uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key      text NOT NULL,
  finding       text NOT NULL CHECK (finding IN ('done', 'missed', 'model', 'not seen', 'right call', 'right no-call', 'wrong call', 'missed foul', 'cannot tell')),
  comment       text NOT NULL DEFAULT '' CHECK (length(comment) <= 4000),
  adds_opportunity boolean NOT NULL DEFAULT false,
  version       integer NOT NULL DEFAULT 1 CHECK (version >= 1),
  created_at    timestamptz NOT NULL DEFAULT now(),
  updated_at    timestamptz NOT NULL DEFAULT now(),
  removed_at    timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, report_id) REFERENCES report (conference_id, id),
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CREATE UNIQUE INDEX observation_one_mark ON observation (conference_id, report_id, play_id, person_id, duty_key) WHERE removed_at IS NULL;
CREATE INDEX observation_person ON observation (conference_id, person_id, duty_key) WHERE removed_at IS NULL;

-- The denominators, as they were when the report was filed under its rubric version.
-- opportunities counts all; not_counted are those not seen or not told; met = opportunities - not_counted - not_met.
CREATE TABLE opportunity_count (
  conference_id uuid NOT NULL,
  report_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key      text NOT NULL,
  opportunities integer NOT NULL CHECK (opportunities >= 1),
  not_met       integer NOT NULL DEFAULT 0 CHECK (not_met >= 0),
  not_counted   integer NOT NULL DEFAULT 0 CHECK (not_counted >= 0),
  model         integer NOT NULL DEFAULT 0 CHECK (model >= 0),
  PRIMARY KEY (conference_id, report_id, person_id, duty_key),
  CHECK (not_met + not_counted + model <= opportunities),
  FOREIGN KEY (conference_id, report_id) REFERENCES report (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CREATE INDEX opportunity_count_person ON opportunity_count (conference_id, person_id);

-- What a report said at each release, kept whole.
CREATE TABLE report_revision (
  conference_id uuid NOT NULL,
  report_id     uuid NOT NULL,
  revision      integer NOT NULL CHECK (revision >= 1),
  reason        text NOT NULL,
  made_by       uuid,
  made_at       timestamptz NOT NULL DEFAULT now(),
  content       jsonb NOT NULL,
  PRIMARY KEY (conference_id, report_id, revision),
  FOREIGN KEY (conference_id, report_id) REFERENCES report (conference_id, id)
);

CREATE TABLE reply (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  observation_id uuid NOT NULL,
  official_id   uuid NOT NULL,
  text          text NOT NULL CHECK (length(text) BETWEEN 1 AND 4000),
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, observation_id),
  FOREIGN KEY (conference_id, observation_id) REFERENCES observation (conference_id, id),
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id)
);

CREATE TABLE ruling (
  conference_id uuid NOT NULL,
  reply_id      uuid NOT NULL,
  ruling        text NOT NULL CHECK (ruling IN ('stands', 'changed', 'withdrawn')),
  changed_to    text CHECK (changed_to IN ('done', 'missed', 'model', 'not seen', 'right call', 'right no-call', 'wrong call', 'missed foul', 'cannot tell')),
  note          text NOT NULL DEFAULT '',
  ruled_by_id      uuid NOT NULL,
  ruled_at      timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, reply_id),
  CHECK ((ruling = 'changed') = (changed_to IS NOT NULL)),
  FOREIGN KEY (conference_id, reply_id) REFERENCES reply (conference_id, id),
  FOREIGN KEY (conference_id, ruled_by_id) REFERENCES person (conference_id, id)
);

-- Results that are kept with the revision of what they were computed from -------------------------------------
CREATE TABLE standings_result (
  conference_id  uuid NOT NULL,
  season_id      uuid NOT NULL,
  kind           text NOT NULL,
  input_revision bigint NOT NULL,
  result         jsonb NOT NULL,
  computed_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, season_id, kind),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE
);

-- Letters and training ----------------------------------------------------------------------------------------
CREATE TABLE letter_template (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  kind          text NOT NULL,
  version       integer NOT NULL CHECK (version >= 1),
  body          text NOT NULL,
  created_by    uuid,
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, kind, version)
);

CREATE TABLE letter (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  kind          text NOT NULL,
  edition       integer NOT NULL DEFAULT 1 CHECK (edition >= 1),
  input_revision bigint NOT NULL,
  sha256        text NOT NULL CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  pdf           bytea NOT NULL,
  created_at    timestamptz NOT NULL DEFAULT now(),
  released_at   timestamptz,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, person_id, kind, edition),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);

CREATE TABLE training_program (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  title         text NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id)
);

CREATE TABLE training_play (
  conference_id uuid NOT NULL,
  program_id    uuid NOT NULL,
  number        integer NOT NULL CHECK (number >= 1),
  play_id       uuid NOT NULL,
  duty_key      text,
  narration     text NOT NULL DEFAULT '',
  PRIMARY KEY (conference_id, program_id, number),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id)
);

CREATE TABLE import_file (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  kind          text NOT NULL,
  file_name     text NOT NULL,
  sha256        text NOT NULL,
  added         integer NOT NULL,
  changed       integer NOT NULL,
  unchanged     integer NOT NULL,
  imported_by   uuid,
  imported_at   timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id)
);

-- What the standings are computed from changes when a released report or its counts change. The season's
-- revision then moves, so that a kept result is known to be old.
CREATE FUNCTION report_moves_season() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE season SET input_revision = input_revision + 1
   WHERE conference_id = COALESCE(NEW.conference_id, OLD.conference_id)
     AND id = COALESCE(NEW.season_id, OLD.season_id);
  RETURN NULL;
END
$$;
CREATE TRIGGER report_released AFTER UPDATE ON report FOR EACH ROW
  WHEN (OLD.* IS DISTINCT FROM NEW.* AND (OLD.state = 'released' OR NEW.state = 'released'))
  EXECUTE FUNCTION report_moves_season();
CREATE TRIGGER report_released_new AFTER INSERT ON report FOR EACH ROW
  WHEN (NEW.state = 'released') EXECUTE FUNCTION report_moves_season();
CREATE TRIGGER report_released_gone AFTER DELETE ON report FOR EACH ROW
  WHEN (OLD.state = 'released') EXECUTE FUNCTION report_moves_season();

CREATE FUNCTION counts_move_season() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE season s SET input_revision = input_revision + 1
   WHERE EXISTS (
     SELECT FROM touched t
       JOIN report r ON r.conference_id = t.conference_id AND r.id = t.report_id
      WHERE r.conference_id = s.conference_id AND r.season_id = s.id AND r.state = 'released');
  RETURN NULL;
END
$$;
CREATE TRIGGER counts_added AFTER INSERT ON opportunity_count REFERENCING NEW TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION counts_move_season();
CREATE TRIGGER counts_changed AFTER UPDATE ON opportunity_count REFERENCING NEW TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION counts_move_season();
CREATE TRIGGER counts_removed AFTER DELETE ON opportunity_count REFERENCING OLD TABLE AS touched
  FOR EACH STATEMENT EXECUTE FUNCTION counts_move_season();

-- History is written once, by anyone.
CREATE FUNCTION refuse_rewriting() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'insufficient_privilege';
END
$$;
CREATE TRIGGER audit_entry_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON audit_entry
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();
CREATE TRIGGER report_revision_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON report_revision
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();

-- What the application may do.
GRANT USAGE ON SCHEMA public TO crewmark_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO crewmark_app;
ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO crewmark_app;
REVOKE UPDATE, DELETE, TRUNCATE ON audit_entry, report_revision FROM crewmark_app;
DO $$
BEGIN
  IF to_regclass('_prisma_migrations') IS NOT NULL THEN
    REVOKE INSERT, UPDATE, DELETE ON _prisma_migrations FROM crewmark_app;
  END IF;
END
$$;
