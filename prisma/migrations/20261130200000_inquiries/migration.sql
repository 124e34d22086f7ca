-- What a conference lets teams ask: how much, until when, and until when it answers.
CREATE TABLE inquiry_setting (
  conference_id uuid PRIMARY KEY REFERENCES conference (id),
  a_week        integer NOT NULL CHECK (a_week BETWEEN 0 AND 50),
  window_hours  integer NOT NULL CHECK (window_hours BETWEEN 1 AND 2000),
  answer_days   integer NOT NULL CHECK (answer_days BETWEEN 1 AND 90),
  notice        text NOT NULL CHECK (length(notice) <= 4000)
);

-- A team asks about one play of a game of its own.
CREATE TABLE inquiry (
  conference_id     uuid NOT NULL,
  id                uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id         uuid NOT NULL,
  game_id           uuid NOT NULL,
  team_id           uuid NOT NULL,
  -- Within the season, in the order in which they came; a draft has none.
  number            integer CHECK (number >= 1),
  state             text NOT NULL CHECK (state IN ('draft', 'received', 'taken up', 'sent back', 'crew asked',
                                                   'under review', 'answered', 'closed')),
  category          text NOT NULL DEFAULT '',
  quarter           integer CHECK (quarter BETWEEN 1 AND 12),
  clock_seconds     integer CHECK (clock_seconds BETWEEN 0 AND 900),
  -- Null while none is chosen, or where the log does not have it.
  play_id           uuid,
  film              text NOT NULL DEFAULT '' CHECK (length(film) <= 1000),
  question          text NOT NULL DEFAULT '' CHECK (length(question) <= 2000),
  made_by           uuid NOT NULL,
  made_at           timestamptz NOT NULL DEFAULT now(),
  received_at       timestamptz,
  -- The last day to answer it.
  due_on            date,
  taken_up_by       uuid,
  taken_up_at       timestamptz,
  sent_back_because text CHECK (sent_back_because IN ('late', 'not reviewable')),
  sent_back_reason  text NOT NULL DEFAULT '' CHECK (length(sent_back_reason) <= 2000),
  sent_back_at      timestamptz,
  -- The play may have decided the game: a second reader looks at it as well.
  decisive          boolean NOT NULL DEFAULT false,
  new_film          text NOT NULL DEFAULT '' CHECK (length(new_film) <= 1000),
  reopened_at       timestamptz,
  -- The officials who worked the game may read the answer from then on.
  released_at       timestamptz,
  closed_at         timestamptz,
  -- Raised by each step, so that what was decided on an older state is refused.
  version           integer NOT NULL DEFAULT 1,
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, season_id, number),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id),
  FOREIGN KEY (conference_id, team_id) REFERENCES team (conference_id, id),
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, taken_up_by) REFERENCES person (conference_id, id),
  CHECK ((state = 'draft') = (number IS NULL)),
  CHECK ((state = 'draft') = (received_at IS NULL)),
  CHECK ((state = 'sent back') = (sent_back_because IS NOT NULL))
);
CREATE INDEX inquiry_of_team ON inquiry (conference_id, team_id);
CREATE INDEX inquiry_of_game ON inquiry (conference_id, game_id);
CREATE INDEX inquiry_of_play ON inquiry (conference_id, play_id);

-- What an official of the game was asked, and answered, for the coordinator alone.
CREATE TABLE inquiry_statement (
  conference_id uuid NOT NULL,
  inquiry_id    uuid NOT NULL,
  game_id       uuid NOT NULL,
  person_id     uuid NOT NULL,
  asked         text NOT NULL CHECK (length(asked) <= 2000),
  asked_by      uuid NOT NULL,
  asked_at      timestamptz NOT NULL DEFAULT now(),
  text          text NOT NULL DEFAULT '' CHECK (length(text) <= 4000),
  given_at      timestamptz,
  PRIMARY KEY (conference_id, inquiry_id, person_id),
  FOREIGN KEY (conference_id, inquiry_id) REFERENCES inquiry (conference_id, id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, asked_by) REFERENCES person (conference_id, id)
);
CREATE INDEX inquiry_statement_of ON inquiry_statement (conference_id, person_id);

-- What a second reader holds of a decisive play, in each round; round 2 follows a reopening.
CREATE TABLE inquiry_reading (
  conference_id uuid NOT NULL,
  inquiry_id    uuid NOT NULL,
  round         integer NOT NULL CHECK (round IN (1, 2)),
  game_id       uuid NOT NULL,
  reader_id     uuid NOT NULL,
  asked_by      uuid NOT NULL,
  asked_at      timestamptz NOT NULL DEFAULT now(),
  ruling        text CHECK (ruling IN ('correct', 'incorrect', 'supportable', 'not to be determined')),
  words         text NOT NULL DEFAULT '' CHECK (length(words) <= 4000),
  read_at       timestamptz,
  -- Why the answer says something else, where it does.
  differs       text NOT NULL DEFAULT '' CHECK (length(differs) <= 2000),
  PRIMARY KEY (conference_id, inquiry_id, round),
  FOREIGN KEY (conference_id, inquiry_id) REFERENCES inquiry (conference_id, id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id),
  FOREIGN KEY (conference_id, reader_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, asked_by) REFERENCES person (conference_id, id),
  CHECK ((ruling IS NULL) = (read_at IS NULL))
);
CREATE INDEX inquiry_reading_of ON inquiry_reading (conference_id, reader_id);

-- What the team was answered, one for each round. Its letter is null once it is no longer kept.
CREATE TABLE inquiry_answer (
  conference_id uuid NOT NULL,
  inquiry_id    uuid NOT NULL,
  round         integer NOT NULL CHECK (round IN (1, 2)),
  game_id       uuid NOT NULL,
  ruling        text NOT NULL CHECK (ruling IN ('correct', 'incorrect', 'supportable', 'not to be determined')),
  rule          text NOT NULL CHECK (length(rule) <= 300),
  reason        text NOT NULL CHECK (length(reason) <= 4000),
  answered_by   uuid NOT NULL,
  answered_at   timestamptz NOT NULL DEFAULT now(),
  sha256        text NOT NULL,
  pdf           bytea,
  PRIMARY KEY (conference_id, inquiry_id, round),
  FOREIGN KEY (conference_id, inquiry_id) REFERENCES inquiry (conference_id, id),
  FOREIGN KEY (conference_id, game_id) REFERENCES game (conference_id, id),
  FOREIGN KEY (conference_id, answered_by) REFERENCES person (conference_id, id)
);

CALL read_only_when_closed('inquiry', 'season');
CALL read_only_when_closed('inquiry_statement', 'game');
CALL read_only_when_closed('inquiry_reading', 'game');
CALL read_only_when_closed('inquiry_answer', 'game');

-- Four more kinds of messages, beside whichever there are.
DO $$
DECLARE
  had text := (SELECT pg_get_constraintdef(oid) FROM pg_constraint
                WHERE conrelid = 'message'::regclass AND conname = 'message_kind_check');
BEGIN
  ALTER TABLE message DROP CONSTRAINT message_kind_check;
  EXECUTE 'ALTER TABLE message ADD CONSTRAINT message_kind_check ' || replace(had, 'ARRAY[',
    'ARRAY[''inquiry'', ''inquiry sent back'', ''statement asked'', ''second reading asked'', ''inquiry answered'', ');
END
$$;
