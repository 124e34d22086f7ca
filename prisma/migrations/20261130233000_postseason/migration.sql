-- Officials chosen for games after the season: what the program proposed, what people decided, and why.

-- What is known of an official beside grades, in one season. Null: not known, which is neither good nor bad.
CREATE TABLE official_fact (
  conference_id      uuid NOT NULL,
  season_id          uuid NOT NULL,
  person_id          uuid NOT NULL,
  years_of_service   integer CHECK (years_of_service BETWEEN 0 AND 80),
  fitness_passed     boolean,
  -- The last day on which the fitness test counts; null where it does not end.
  fitness_until      date,
  -- 0 to 100, in percent.
  rules_test_score   double precision CHECK (rules_test_score BETWEEN 0 AND 100),
  good_standing      boolean,
  standing_reason    text NOT NULL DEFAULT '' CHECK (length(standing_reason) <= 2000),
  -- Whether they can work after the season at all, and the days of it on which they cannot: ["2026-12-05", ...]
  available          boolean,
  days_away          jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(days_away) = 'array'),
  -- Postseason games worked in the last three seasons, as far as this program does not know them by itself.
  postseasons_lately integer CHECK (postseasons_lately BETWEEN 0 AND 30),
  entered_how        text NOT NULL CHECK (entered_how IN ('page', 'file', 'program')),
  entered_by         uuid NOT NULL,
  entered_at         timestamptz NOT NULL DEFAULT now(),
  -- Raised by each change, so that what was typed on an older state is refused.
  revision           integer NOT NULL DEFAULT 1,
  PRIMARY KEY (conference_id, season_id, person_id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, entered_by) REFERENCES person (conference_id, id)
);
CREATE INDEX official_fact_of ON official_fact (conference_id, person_id);

-- An official is tied to a team, until it is taken back: studied there, family, employment.
CREATE TABLE official_tie (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  team_id       uuid NOT NULL,
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 500),
  entered_by    uuid NOT NULL,
  entered_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, person_id, team_id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, team_id) REFERENCES team (conference_id, id),
  FOREIGN KEY (conference_id, entered_by) REFERENCES person (conference_id, id)
);
CREATE INDEX official_tie_team ON official_tie (conference_id, team_id);

-- One selection of a season: its games, rules and people decide together, and are closed together.
CREATE TABLE selection (
  conference_id  uuid NOT NULL,
  id             uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id      uuid NOT NULL,
  title          text NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
  state          text NOT NULL DEFAULT 'preparing'
                 CHECK (state IN ('preparing', 'sealed voting', 'opened', 'offered', 'closed')),
  -- Eligibility, neutrality, rotation and crews; what the solver weighs. Read by server/selection/rules.ts.
  rules          jsonb NOT NULL CHECK (jsonb_typeof(rules) = 'object'),
  weights        jsonb NOT NULL CHECK (jsonb_typeof(weights) = 'object'),
  -- The last day to answer an offer, in the conference's zone, and until when nobody else is to know of it.
  answer_by      date,
  embargo_until  timestamptz,
  -- The candidates as they stood when sealed voting began, with the season's revision: what the committee decides on.
  basis          jsonb,
  -- What the solver proposed last, with its weights. People decide; it stays as it was proposed.
  proposal       jsonb,
  proposed_by    uuid,
  proposed_at    timestamptz,
  made_by        uuid NOT NULL,
  made_at        timestamptz NOT NULL DEFAULT now(),
  voting_by      uuid,
  voting_at      timestamptz,
  opened_by      uuid,
  opened_at      timestamptz,
  -- Why the ballots were opened before every member had sealed theirs; empty where all had.
  opened_because text NOT NULL DEFAULT '' CHECK (length(opened_because) <= 2000),
  closed_by      uuid,
  closed_at      timestamptz,
  -- Raised by each step, so that what was decided on an older state is refused.
  revision       integer NOT NULL DEFAULT 1,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, title),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, proposed_by) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, voting_by) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, opened_by) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, closed_by) REFERENCES person (conference_id, id),
  CHECK ((proposal IS NULL) = (proposed_at IS NULL)),
  CHECK ((state = 'closed') = (closed_at IS NOT NULL))
);

-- A game to be filled. A team of the conference, or a name where it is not one of it (or not known yet).
CREATE TABLE selection_game (
  conference_id   uuid NOT NULL,
  id              uuid NOT NULL DEFAULT gen_random_uuid(),
  selection_id    uuid NOT NULL,
  name            text NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  -- The day and the wall clock's time, HH:MM, where it is played; empty while not known.
  played_on       date NOT NULL,
  kickoff         text NOT NULL DEFAULT '' CHECK (kickoff ~ '^(([01][0-9]|2[0-3]):[0-5][0-9])?$'),
  home_team_id    uuid,
  home_name       text NOT NULL DEFAULT '' CHECK (length(home_name) <= 200),
  visitor_team_id uuid,
  visitor_name    text NOT NULL DEFAULT '' CHECK (length(visitor_name) <= 200),
  -- A venue of the conference, or a place; without coordinates travel is not known.
  venue_id        uuid,
  place           text NOT NULL DEFAULT '' CHECK (length(place) <= 200),
  latitude        double precision CHECK (latitude BETWEEN -90 AND 90),
  longitude       double precision CHECK (longitude BETWEEN -180 AND 180),
  crew_size       integer NOT NULL CHECK (crew_size BETWEEN 4 AND 8),
  alternates      integer NOT NULL DEFAULT 0 CHECK (alternates BETWEEN 0 AND 8),
  -- One crew of the season is kept together for it.
  whole_crew      boolean NOT NULL DEFAULT false,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, id, played_on),
  UNIQUE (conference_id, selection_id, name),
  FOREIGN KEY (conference_id, selection_id) REFERENCES selection (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, home_team_id) REFERENCES team (conference_id, id),
  FOREIGN KEY (conference_id, visitor_team_id) REFERENCES team (conference_id, id),
  FOREIGN KEY (conference_id, venue_id) REFERENCES venue (conference_id, id),
  CHECK ((latitude IS NULL) = (longitude IS NULL))
);

-- Who sits on the committee.
CREATE TABLE selection_member (
  conference_id         uuid NOT NULL,
  selection_id          uuid NOT NULL,
  person_id             uuid NOT NULL,
  kind                  text NOT NULL CHECK (kind IN ('coordinator', 'invited reader')),
  added_by              uuid NOT NULL,
  added_at              timestamptz NOT NULL DEFAULT now(),
  -- Conflicts were declared, be it that there are none.
  conflicts_declared_at timestamptz,
  -- All votes and notes of the member are final from then on.
  sealed_at             timestamptz,
  PRIMARY KEY (conference_id, selection_id, person_id),
  FOREIGN KEY (conference_id, selection_id) REFERENCES selection (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, added_by) REFERENCES person (conference_id, id),
  CHECK (sealed_at IS NULL OR conflicts_declared_at IS NOT NULL)
);
CREATE INDEX selection_member_of ON selection_member (conference_id, person_id);

-- An official on whom a member neither reads nor votes.
CREATE TABLE selection_conflict (
  conference_id uuid NOT NULL,
  selection_id  uuid NOT NULL,
  member_id     uuid NOT NULL,
  official_id   uuid NOT NULL,
  reason        text NOT NULL CHECK (length(reason) BETWEEN 1 AND 2000),
  declared_at   timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, selection_id, member_id, official_id),
  FOREIGN KEY (conference_id, selection_id, member_id)
    REFERENCES selection_member (conference_id, selection_id, person_id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id)
);
CREATE INDEX selection_conflict_with ON selection_conflict (conference_id, official_id);

-- What one member holds of one official for one position of one game. Nobody else reads it before all are opened.
CREATE TABLE selection_ballot (
  conference_id uuid NOT NULL,
  selection_id  uuid NOT NULL,
  game_id       uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  member_id     uuid NOT NULL,
  official_id   uuid NOT NULL,
  vote          text CHECK (vote IN ('for', 'against', 'abstain')),
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 4000),
  written_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, selection_id, game_id, position, member_id, official_id),
  FOREIGN KEY (conference_id, game_id) REFERENCES selection_game (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, selection_id, member_id)
    REFERENCES selection_member (conference_id, selection_id, person_id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id)
);
CREATE INDEX selection_ballot_on ON selection_ballot (conference_id, official_id);
CREATE INDEX selection_ballot_by ON selection_ballot (conference_id, selection_id, member_id);

-- Who is to work which place of a game, by a person's decision. A place is a position, or an alternate by number.
CREATE TABLE selection_choice (
  conference_id uuid NOT NULL,
  selection_id  uuid NOT NULL,
  game_id       uuid NOT NULL,
  slot          text NOT NULL CHECK (slot IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge') OR slot ~ '^alternate [1-8]$'),
  -- The position in which they are graded and chosen; of a place that is a position, that one.
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  official_id   uuid NOT NULL,
  -- The game's day, carried along: nobody is at two games on one day, whichever selection they belong to.
  played_on     date NOT NULL,
  reason        text NOT NULL DEFAULT '' CHECK (length(reason) <= 2000),
  chosen_by     uuid NOT NULL,
  chosen_at     timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, game_id, slot),
  CONSTRAINT selection_choice_one_game_a_day UNIQUE (conference_id, official_id, played_on),
  FOREIGN KEY (conference_id, selection_id) REFERENCES selection (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, game_id, played_on)
    REFERENCES selection_game (conference_id, id, played_on) ON UPDATE CASCADE ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, chosen_by) REFERENCES person (conference_id, id),
  CHECK (slot = position OR slot LIKE 'alternate %')
);
CREATE INDEX selection_choice_of ON selection_choice (conference_id, selection_id);

-- Why somebody higher ranked was not chosen for a place.
CREATE TABLE selection_pass_over (
  conference_id uuid NOT NULL,
  selection_id  uuid NOT NULL,
  game_id       uuid NOT NULL,
  slot          text NOT NULL CHECK (slot IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge') OR slot ~ '^alternate [1-8]$'),
  official_id   uuid NOT NULL,
  -- Whom they were passed over for: with another choice the reason no longer holds.
  chosen_id     uuid NOT NULL,
  kind          text NOT NULL CHECK (kind IN ('same tier', 'other')),
  reason        text NOT NULL CHECK (length(reason) BETWEEN 1 AND 2000),
  recorded_by   uuid NOT NULL,
  recorded_at   timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, game_id, slot, official_id),
  FOREIGN KEY (conference_id, selection_id) REFERENCES selection (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, game_id) REFERENCES selection_game (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, chosen_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, recorded_by) REFERENCES person (conference_id, id)
);
CREATE INDEX selection_pass_over_of ON selection_pass_over (conference_id, selection_id);
CREATE INDEX selection_pass_over_official ON selection_pass_over (conference_id, official_id);

-- What an official was offered and answered. It stays when another is chosen for the place.
CREATE TABLE selection_offer (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  selection_id  uuid NOT NULL,
  game_id       uuid NOT NULL,
  slot          text NOT NULL CHECK (slot IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge') OR slot ~ '^alternate [1-8]$'),
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  official_id   uuid NOT NULL,
  offered_by    uuid NOT NULL,
  offered_at    timestamptz NOT NULL DEFAULT now(),
  -- The last day to answer, in the conference's zone.
  answer_by     date NOT NULL,
  -- Until when they are asked to keep it to themselves.
  embargo_until timestamptz,
  answer        text CHECK (answer IN ('accepted', 'declined', 'withdrawn')),
  answered_at   timestamptz,
  -- The official's, or the coordinator's where it was withdrawn.
  reason        text NOT NULL DEFAULT '' CHECK (length(reason) <= 2000),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, selection_id) REFERENCES selection (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, game_id) REFERENCES selection_game (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, offered_by) REFERENCES person (conference_id, id),
  CHECK ((answer IS NULL) = (answered_at IS NULL))
);
CREATE INDEX selection_offer_of ON selection_offer (conference_id, selection_id);
CREATE INDEX selection_offer_to ON selection_offer (conference_id, official_id);
-- A place is offered to one at a time.
CREATE UNIQUE INDEX selection_offer_standing ON selection_offer (conference_id, game_id, slot)
  WHERE answer IS NULL OR answer = 'accepted';

-- The record of a closed selection. Its bytes are null once they are no longer kept.
CREATE TABLE selection_record (
  conference_id uuid NOT NULL,
  selection_id  uuid NOT NULL,
  sha256        text NOT NULL CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  pdf           bytea,
  made_by       uuid NOT NULL,
  made_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, selection_id),
  FOREIGN KEY (conference_id, selection_id) REFERENCES selection (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id)
);

-- Seasons that are closed, now also by way of a selection.
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
    WHEN 'selection' THEN
      SELECT array_agg(DISTINCT s.season_id), min(t.conference_id::text)::uuid INTO seasons, conference
        FROM touched t JOIN selection s ON s.conference_id = t.conference_id AND s.id = t.selection_id;
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

-- A closed selection is read only, with what belongs to it. Its record is written before it is closed.
CREATE FUNCTION selection_is_open() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  of_one selection;
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN COALESCE(NEW, OLD); END IF;
  IF TG_TABLE_NAME = 'selection' THEN
    of_one := OLD;
  ELSE
    -- Held against closing until the transaction ends; a step that changes the selection as well locks it first.
    SELECT * INTO of_one FROM selection s
     WHERE s.conference_id = COALESCE(NEW.conference_id, OLD.conference_id)
       AND s.id = COALESCE(NEW.selection_id, OLD.selection_id)
       FOR SHARE;
  END IF;
  IF of_one.state = 'closed' THEN
    RAISE EXCEPTION 'The selection % is closed: it can be read, not changed.', of_one.title USING ERRCODE = 'CM409';
  END IF;
  RETURN COALESCE(NEW, OLD);
END
$$;
DO $$
DECLARE
  tbl text;
BEGIN
  EXECUTE 'CREATE TRIGGER selection_closed BEFORE UPDATE OR DELETE ON selection FOR EACH ROW
           EXECUTE FUNCTION selection_is_open()';
  FOREACH tbl IN ARRAY ARRAY['selection_game', 'selection_member', 'selection_conflict', 'selection_ballot',
                             'selection_choice', 'selection_pass_over', 'selection_offer', 'selection_record'] LOOP
    EXECUTE format('CREATE TRIGGER selection_closed BEFORE INSERT OR UPDATE OR DELETE ON %I FOR EACH ROW
                    EXECUTE FUNCTION selection_is_open()', tbl);
    EXECUTE format('CALL read_only_when_closed(%L, %L)', tbl, 'selection');
  END LOOP;
END
$$;

CALL read_only_when_closed('official_fact', 'season');
CALL read_only_when_closed('selection', 'season');
