-- Training programs: plays of a season chosen to teach one goal. No version before this one wrote to these two tables.
DROP TABLE training_play;

ALTER TABLE training_program
  ADD COLUMN audience          text NOT NULL DEFAULT 'everybody' CHECK (audience IN ('everybody', 'position', 'crew', 'observers')),
  ADD COLUMN audience_position text CHECK (audience_position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  ADD COLUMN audience_crew_id  uuid,
  ADD COLUMN goal              text NOT NULL DEFAULT '' CHECK (length(goal) <= 500),
  ADD COLUMN minutes           integer NOT NULL DEFAULT 20 CHECK (minutes BETWEEN 1 AND 120),
  ADD COLUMN due_on            date,
  ADD COLUMN code              text NOT NULL DEFAULT 'college' CHECK (code IN ('college', 'high school')),
  ADD COLUMN most_bad          integer NOT NULL DEFAULT 2 CHECK (most_bad BETWEEN 1 AND 10),
  -- Raised by every change; by one of the frame; by one of which plays there are and in what order.
  ADD COLUMN version           integer NOT NULL DEFAULT 1 CHECK (version >= 1),
  ADD COLUMN frame_version     integer NOT NULL DEFAULT 1 CHECK (frame_version >= 1),
  ADD COLUMN order_version     integer NOT NULL DEFAULT 1 CHECK (order_version >= 1),
  ADD COLUMN changed_by        uuid,
  ADD COLUMN changed_at        timestamptz NOT NULL DEFAULT now(),
  ADD COLUMN last_change       text NOT NULL DEFAULT '',
  -- The program as it was before its last change, which can be taken back.
  ADD COLUMN before_last       jsonb CHECK (jsonb_typeof(before_last) = 'object'),
  ADD CONSTRAINT training_program_audience_named CHECK (
    (audience = 'position') = (audience_position IS NOT NULL) AND (audience = 'crew') = (audience_crew_id IS NOT NULL)),
  ADD FOREIGN KEY (conference_id, audience_crew_id) REFERENCES crew (conference_id, id),
  ADD FOREIGN KEY (conference_id, changed_by) REFERENCES person (conference_id, id);
CREATE INDEX training_program_season ON training_program (conference_id, season_id);

-- In summer the plays of the season that was just closed are taught: a program reads its season and changes nothing of it.
DROP TRIGGER read_only_when_closed_add ON training_program;
DROP TRIGGER read_only_when_closed_change ON training_program;
DROP TRIGGER read_only_when_closed_remove ON training_program;

CREATE TABLE training_play (
  conference_id  uuid NOT NULL,
  program_id     uuid NOT NULL,
  play_id        uuid NOT NULL,
  place          integer NOT NULL CHECK (place >= 1),
  topic          text NOT NULL DEFAULT '' CHECK (length(topic) <= 100),
  aspect         text NOT NULL CHECK (aspect IN ('position', 'keys', 'ruling', 'signal')),
  showing        text NOT NULL CHECK (showing IN ('good', 'bad', 'to discuss')),
  position       text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  duty_key       text,
  -- The coordinator's answer of record.
  answer         text NOT NULL DEFAULT '' CHECK (length(answer) <= 2000),
  answered_on    date,
  rule_cited     text NOT NULL DEFAULT '' CHECK (length(rule_cited) <= 200),
  mechanic_cited text NOT NULL DEFAULT '' CHECK (length(mechanic_cited) <= 300),
  two_mechanics  boolean NOT NULL DEFAULT false,
  first_key      text NOT NULL DEFAULT '' CHECK (length(first_key) <= 200),
  second_key     text NOT NULL DEFAULT '' CHECK (length(second_key) <= 200),
  question       text NOT NULL DEFAULT '' CHECK (length(question) <= 500),
  -- [{ "text": ..., "right": true or false }, ...]
  choices        jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(choices) = 'array'),
  narration      text NOT NULL DEFAULT '' CHECK (length(narration) <= 4000),
  seconds_before integer NOT NULL CHECK (seconds_before BETWEEN 0 AND 120),
  seconds_after  integer NOT NULL CHECK (seconds_after BETWEEN 1 AND 300),
  version        integer NOT NULL DEFAULT 1 CHECK (version >= 1),
  PRIMARY KEY (conference_id, program_id, play_id),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id)
);
CREATE INDEX training_play_of ON training_play (conference_id, play_id);

-- A program as it was released, with its facts as they were then. content names no official, crew, team or game; sources,
-- for the coordinator alone, says where each play is from.
CREATE TABLE training_edition (
  conference_id uuid NOT NULL,
  program_id    uuid NOT NULL,
  number        integer NOT NULL CHECK (number >= 1),
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 500),
  content       jsonb NOT NULL CHECK (jsonb_typeof(content) = 'object'),
  sources       jsonb NOT NULL CHECK (jsonb_typeof(sources) = 'array'),
  released_by   uuid,
  released_at   timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, program_id, number),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, released_by) REFERENCES person (conference_id, id)
);

CREATE FUNCTION training_edition_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN COALESCE(NEW, OLD); END IF;
  RAISE EXCEPTION 'edition % of a training program was released; it is not changed or deleted', OLD.number
    USING ERRCODE = 'restrict_violation';
END
$$;
CREATE TRIGGER training_edition_released BEFORE UPDATE OR DELETE ON training_edition FOR EACH ROW
  EXECUTE FUNCTION training_edition_is_final();
