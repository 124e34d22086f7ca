-- Who may watch what, how much, and what the coordinator wants covered.

CREATE TABLE observer_profile (
  conference_id      uuid NOT NULL,
  person_id          uuid NOT NULL,
  watches_in_person  boolean NOT NULL DEFAULT true,
  watches_film       boolean NOT NULL DEFAULT true,
  weekly_limit       integer CHECK (weekly_limit BETWEEN 0 AND 50),
  season_limit       integer CHECK (season_limit BETWEEN 0 AND 500),
  travel_limit_miles double precision CHECK (travel_limit_miles BETWEEN 0 AND 13000),
  -- The secret address of the calendar feed; only the hash of its token is kept.
  calendar_token_hash text,
  PRIMARY KEY (conference_id, person_id),
  CHECK (watches_in_person OR watches_film),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE UNIQUE INDEX observer_profile_calendar ON observer_profile (calendar_token_hash);

CREATE TABLE observer_absence (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  person_id     uuid NOT NULL,
  first_day     date NOT NULL,
  last_day      date NOT NULL CHECK (last_day >= first_day),
  away_from     text NOT NULL CHECK (away_from IN ('in person', 'all work')),
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 500),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX observer_absence_person ON observer_absence (conference_id, person_id);

-- A declared tie to exactly one team, official or crew.
CREATE TABLE observer_conflict (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  person_id     uuid NOT NULL,
  kind          text NOT NULL CHECK (kind IN ('school tie', 'family', 'former crew', 'business interest', 'other interest')),
  team_id       uuid,
  official_id   uuid,
  crew_id       uuid,
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 500),
  declared_at   timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  CHECK (num_nonnulls(team_id, official_id, crew_id) = 1),
  CHECK (official_id <> person_id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, team_id) REFERENCES team (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, crew_id) REFERENCES crew (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX observer_conflict_person ON observer_conflict (conference_id, person_id);

-- What the coordinator wants covered and how the planner weighs it, in miles.
CREATE TABLE observer_plan_setting (
  conference_id          uuid NOT NULL,
  season_id              uuid NOT NULL,
  observers_per_game     integer NOT NULL DEFAULT 1 CHECK (observers_per_game BETWEEN 0 AND 10),
  crew_times_seen        integer NOT NULL DEFAULT 4 CHECK (crew_times_seen BETWEEN 0 AND 100),
  crew_different_observers integer NOT NULL DEFAULT 3 CHECK (crew_different_observers BETWEEN 0 AND 100),
  price_film             double precision NOT NULL DEFAULT 120 CHECK (price_film BETWEEN 0 AND 5000),
  price_repeated_pair    double precision NOT NULL DEFAULT 40 CHECK (price_repeated_pair BETWEEN 0 AND 5000),
  price_load             double precision NOT NULL DEFAULT 12 CHECK (price_load BETWEEN 0 AND 5000),
  price_information      double precision NOT NULL DEFAULT 40 CHECK (price_information BETWEEN 0 AND 5000),
  PRIMARY KEY (conference_id, season_id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE
);

-- Where one game differs from the season's setting.
CREATE TABLE game_coverage (
  conference_id    uuid NOT NULL,
  game_id          uuid NOT NULL,
  observers_wanted integer CHECK (observers_wanted BETWEEN 0 AND 10),
  film_allowed     boolean NOT NULL DEFAULT true,
  PRIMARY KEY (conference_id, game_id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id) ON DELETE CASCADE
);

-- Withdrawn by the coordinator: the answer becomes declined as well, so that whoever reads answers only is right.
ALTER TABLE observer_assignment
  ADD COLUMN locked          boolean NOT NULL DEFAULT false,
  ADD COLUMN override_reason text,
  ADD COLUMN decline_reason  text,
  ADD COLUMN withdrawn_at    timestamptz,
  ADD COLUMN told_at         timestamptz,
  ADD COLUMN reminded_at     timestamptz,
  ADD COLUMN revision        integer NOT NULL DEFAULT 0,
  ADD COLUMN changed_at      timestamptz NOT NULL DEFAULT now(),
  ADD CHECK (withdrawn_at IS NULL OR answer = 'declined');

-- A link in an e-mail with which the observer answers without signing in. Only its token's hash is kept.
CREATE TABLE assignment_link (
  conference_id uuid NOT NULL,
  token_hash    text NOT NULL,
  assignment_id uuid NOT NULL,
  created_at    timestamptz NOT NULL DEFAULT now(),
  expires_at    timestamptz NOT NULL,
  PRIMARY KEY (conference_id, token_hash),
  FOREIGN KEY (conference_id, assignment_id) REFERENCES observer_assignment (conference_id, id) ON DELETE CASCADE
);
CREATE UNIQUE INDEX assignment_link_token ON assignment_link (token_hash);
CREATE INDEX assignment_link_assignment ON assignment_link (conference_id, assignment_id);

-- A calendar follows an assignment by its revision: it must rise with every change that an entry shows.
CREATE FUNCTION assignment_revised() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  NEW.revision := OLD.revision + 1;
  NEW.changed_at := now();
  -- Offered or accepted again: no longer withdrawn.
  IF NEW.answer <> 'declined' THEN
    NEW.withdrawn_at := NULL;
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER observer_assignment_revised BEFORE UPDATE ON observer_assignment FOR EACH ROW
  WHEN ((OLD.how, OLD.answer, OLD.withdrawn_at) IS DISTINCT FROM (NEW.how, NEW.answer, NEW.withdrawn_at))
  EXECUTE FUNCTION assignment_revised();

CREATE FUNCTION game_revises_assignments() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE observer_assignment SET revision = revision + 1, changed_at = now()
   WHERE conference_id = NEW.conference_id AND game_id = NEW.id;
  RETURN NULL;
END
$$;
CREATE TRIGGER game_moved AFTER UPDATE ON game FOR EACH ROW
  WHEN ((OLD.kickoff, OLD.venue_id, OLD.home_team_id, OLD.visiting_team_id)
        IS DISTINCT FROM (NEW.kickoff, NEW.venue_id, NEW.home_team_id, NEW.visiting_team_id))
  EXECUTE FUNCTION game_revises_assignments();
