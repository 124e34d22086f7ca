-- Questions on rules and mechanics, tests made of them, what officials answered, clinics and who was there.

-- A question as it is called; what it says is in its versions.
CREATE TABLE quiz_question (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  -- What files and people call it by, such as 8-3-2-a.
  label         text NOT NULL CHECK (length(label) BETWEEN 1 AND 60),
  retired_at    timestamptz,
  made_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, label),
  FOREIGN KEY (conference_id) REFERENCES conference (id)
);

-- A question changed after somebody was asked it is a new version; who was asked the old one keeps it.
CREATE TABLE quiz_question_version (
  conference_id uuid NOT NULL,
  question_id   uuid NOT NULL,
  version       integer NOT NULL CHECK (version >= 1),
  text          text NOT NULL CHECK (length(text) BETWEEN 1 AND 2000),
  -- ["...", ...] in the order in which they are shown.
  choices       jsonb NOT NULL CHECK (jsonb_typeof(choices) = 'array' AND jsonb_array_length(choices) BETWEEN 2 AND 6),
  -- The right choice, from 0.
  answer        integer NOT NULL CHECK (answer >= 0 AND answer < jsonb_array_length(choices)),
  explanation   text NOT NULL DEFAULT '' CHECK (length(explanation) <= 2000),
  code          text NOT NULL CHECK (code IN ('college', 'high school')),
  rule          text NOT NULL DEFAULT '' CHECK (length(rule) <= 100),
  mechanic      text NOT NULL DEFAULT '' CHECK (length(mechanic) <= 100),
  -- Positions that it is for; none: for all.
  positions     jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(positions) = 'array'),
  written_by    uuid,
  written_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, question_id, version),
  FOREIGN KEY (conference_id, question_id) REFERENCES quiz_question (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, written_by) REFERENCES person (conference_id, id),
  CHECK (rule <> '' OR mechanic <> '')
);

CREATE TABLE quiz (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  title         text NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
  opens_at      timestamptz NOT NULL,
  closes_at     timestamptz NOT NULL,
  minutes       integer NOT NULL CHECK (minutes BETWEEN 1 AND 300),
  -- How often it may be begun, and how many hours lie between one end and the next start.
  starts        integer NOT NULL DEFAULT 1 CHECK (starts BETWEEN 1 AND 5),
  hours_between integer NOT NULL DEFAULT 0 CHECK (hours_between BETWEEN 0 AND 720),
  counts        text NOT NULL DEFAULT 'best' CHECK (counts IN ('best', 'last', 'first')),
  -- How many questions are drawn; null: all, in their order.
  draws         integer CHECK (draws BETWEEN 1 AND 60),
  audience      text NOT NULL DEFAULT 'officials' CHECK (audience IN ('officials', 'positions', 'crew')),
  positions     jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(positions) = 'array'),
  crew_id       uuid,
  made_by       uuid,
  made_at       timestamptz NOT NULL DEFAULT now(),
  announced_at  timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, crew_id) REFERENCES crew (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id),
  CHECK (closes_at > opens_at),
  CHECK ((audience = 'positions') = (positions <> '[]')),
  CHECK ((audience = 'crew') = (crew_id IS NOT NULL))
);
CREATE INDEX quiz_season ON quiz (conference_id, season_id);
CALL read_only_when_closed('quiz', 'season');

-- What a quiz asks, or what is drawn from.
CREATE TABLE quiz_pool (
  conference_id uuid NOT NULL,
  quiz_id       uuid NOT NULL,
  question_id   uuid NOT NULL,
  place         integer NOT NULL CHECK (place >= 1),
  PRIMARY KEY (conference_id, quiz_id, question_id),
  FOREIGN KEY (conference_id, quiz_id) REFERENCES quiz (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, question_id) REFERENCES quiz_question (conference_id, id)
);
CREATE INDEX quiz_pool_question ON quiz_pool (conference_id, question_id);

-- Who was told of it, and what the coordinator gave one of them beyond the others.
CREATE TABLE quiz_taker (
  conference_id uuid NOT NULL,
  quiz_id       uuid NOT NULL,
  official_id   uuid NOT NULL,
  extra_minutes integer NOT NULL DEFAULT 0 CHECK (extra_minutes BETWEEN 0 AND 600),
  extra_starts  integer NOT NULL DEFAULT 0 CHECK (extra_starts BETWEEN 0 AND 5),
  -- Until when, where it is longer open for them.
  open_until    timestamptz,
  reason        text NOT NULL DEFAULT '' CHECK (length(reason) <= 500),
  PRIMARY KEY (conference_id, quiz_id, official_id),
  FOREIGN KEY (conference_id, quiz_id) REFERENCES quiz (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id),
  CHECK (reason <> '' OR (extra_minutes = 0 AND extra_starts = 0 AND open_until IS NULL))
);
CREATE INDEX quiz_taker_official ON quiz_taker (conference_id, official_id);

CREATE TABLE quiz_attempt (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  quiz_id       uuid NOT NULL,
  official_id   uuid NOT NULL,
  number        integer NOT NULL CHECK (number >= 1),
  begun_at      timestamptz NOT NULL,
  ended_at      timestamptz,
  ended_by      text CHECK (ended_by IN ('official', 'time')),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, quiz_id, official_id, number),
  FOREIGN KEY (conference_id, quiz_id, official_id) REFERENCES quiz_taker (conference_id, quiz_id, official_id) ON DELETE CASCADE,
  CHECK ((ended_at IS NULL) = (ended_by IS NULL))
);
CREATE INDEX quiz_attempt_open ON quiz_attempt (conference_id, begun_at) WHERE ended_at IS NULL;

-- What was asked in one sitting. A choice that came after its end stands apart, in late_choice, and counts nothing.
CREATE TABLE quiz_answer (
  conference_id uuid NOT NULL,
  attempt_id    uuid NOT NULL,
  place         integer NOT NULL CHECK (place >= 1),
  question_id   uuid NOT NULL,
  version       integer NOT NULL,
  choice        integer CHECK (choice BETWEEN 0 AND 5),
  answered_at   timestamptz,
  late_choice   integer CHECK (late_choice BETWEEN 0 AND 5),
  late_at       timestamptz,
  PRIMARY KEY (conference_id, attempt_id, place),
  UNIQUE (conference_id, attempt_id, question_id),
  FOREIGN KEY (conference_id, attempt_id) REFERENCES quiz_attempt (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, question_id, version) REFERENCES quiz_question_version (conference_id, question_id, version)
);
CREATE INDEX quiz_answer_question ON quiz_answer (conference_id, question_id, version);

-- Once a sitting has ended, what was chosen is what it was.
CREATE FUNCTION quiz_answer_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN NEW; END IF;
  PERFORM FROM quiz_attempt a WHERE a.conference_id = OLD.conference_id AND a.id = OLD.attempt_id AND a.ended_at IS NULL;
  IF NOT FOUND THEN
    RAISE EXCEPTION 'answers of sitting % cannot be changed any more', OLD.attempt_id USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER quiz_answer_of_ended BEFORE UPDATE OF choice, question_id, version ON quiz_answer FOR EACH ROW
  WHEN ((NEW.choice, NEW.question_id, NEW.version) IS DISTINCT FROM (OLD.choice, OLD.question_id, OLD.version))
  EXECUTE FUNCTION quiz_answer_stays();

-- What somebody was asked is what it was.
CREATE FUNCTION quiz_version_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN NEW; END IF;
  PERFORM FROM quiz_answer a
    WHERE a.conference_id = OLD.conference_id AND a.question_id = OLD.question_id AND a.version = OLD.version;
  IF FOUND THEN
    RAISE EXCEPTION 'version % of question % was asked already: make a new one', OLD.version, OLD.question_id
      USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN NEW;
END
$$;
CREATE TRIGGER quiz_version_asked BEFORE UPDATE OF text, choices, answer, explanation, code, rule, mechanic, positions
  ON quiz_question_version FOR EACH ROW EXECUTE FUNCTION quiz_version_stays();

-- How much quizzes count in the season's figure; announced before the first of them opens.
CREATE TABLE quiz_weight (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  percent       integer NOT NULL CHECK (percent BETWEEN 1 AND 50),
  announced_by  uuid,
  announced_at  timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, season_id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, announced_by) REFERENCES person (conference_id, id)
);
CALL read_only_when_closed('quiz_weight', 'season');

CREATE TABLE clinic (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  title         text NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
  held_on       date NOT NULL,
  place         text NOT NULL DEFAULT '' CHECK (length(place) <= 200),
  minutes       integer CHECK (minutes BETWEEN 1 AND 1440),
  audience      text NOT NULL DEFAULT 'officials' CHECK (audience IN ('officials', 'positions', 'crew')),
  positions     jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(positions) = 'array'),
  crew_id       uuid,
  -- What makes up for it, in the coordinator's words.
  make_up       text NOT NULL DEFAULT '' CHECK (length(make_up) <= 500),
  made_by       uuid,
  made_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, crew_id) REFERENCES crew (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id),
  CHECK ((audience = 'positions') = (positions <> '[]')),
  CHECK ((audience = 'crew') = (crew_id IS NOT NULL))
);
CREATE INDEX clinic_season ON clinic (conference_id, season_id);
CALL read_only_when_closed('clinic', 'season');

CREATE TABLE clinic_attendance (
  conference_id uuid NOT NULL,
  clinic_id     uuid NOT NULL,
  season_id     uuid NOT NULL,
  official_id   uuid NOT NULL,
  state         text NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'attended', 'made up', 'excused', 'missed')),
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 500),
  noted_by      uuid,
  noted_at      timestamptz,
  PRIMARY KEY (conference_id, clinic_id, official_id),
  FOREIGN KEY (conference_id, clinic_id) REFERENCES clinic (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, official_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, noted_by) REFERENCES person (conference_id, id)
);
CREATE INDEX clinic_attendance_official ON clinic_attendance (conference_id, official_id);
CALL read_only_when_closed('clinic_attendance', 'season');

-- Three more kinds of messages, beside whichever there are.
DO $$
DECLARE
  had text := (SELECT pg_get_constraintdef(oid) FROM pg_constraint
                WHERE conrelid = 'message'::regclass AND conname = 'message_kind_check');
BEGIN
  ALTER TABLE message DROP CONSTRAINT message_kind_check;
  EXECUTE 'ALTER TABLE message ADD CONSTRAINT message_kind_check ' || replace(had, 'ARRAY[',
    'ARRAY[''quiz'', ''quizzes count'', ''clinic'', ');
END
$$;
