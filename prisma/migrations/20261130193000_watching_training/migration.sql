-- What counts as watched, and how many days before the due date who has not is reminded.
ALTER TABLE training_program
  ADD COLUMN share_needed  integer NOT NULL DEFAULT 90 CHECK (share_needed BETWEEN 1 AND 100),
  ADD COLUMN all_questions boolean NOT NULL DEFAULT true,
  ADD COLUMN remind_days   integer NOT NULL DEFAULT 3 CHECK (remind_days BETWEEN 0 AND 30);

-- What is said of film before the first play, and how long who is shown may object; without a row, as usual.
CREATE TABLE training_setting (
  conference_id  uuid PRIMARY KEY REFERENCES conference (id),
  notice         text NOT NULL CHECK (length(notice) BETWEEN 1 AND 2000),
  objection_days integer NOT NULL CHECK (objection_days BETWEEN 0 AND 30)
);

-- For whom an edition was released, as it was then; names are shown to nobody but where the coordinator said so.
CREATE TABLE training_audience (
  conference_id  uuid NOT NULL,
  program_id     uuid NOT NULL,
  edition_number integer NOT NULL,
  audience       text NOT NULL CHECK (audience IN ('everybody', 'position', 'crew', 'observers')),
  position       text,
  crew_id        uuid,
  names_shown    boolean NOT NULL DEFAULT false,
  PRIMARY KEY (conference_id, program_id, edition_number),
  FOREIGN KEY (conference_id, program_id, edition_number)
    REFERENCES training_edition (conference_id, program_id, number) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, crew_id) REFERENCES crew (conference_id, id)
);

-- Who is to watch an edition, and how far they are.
CREATE TABLE training_viewer (
  conference_id  uuid NOT NULL,
  program_id     uuid NOT NULL,
  edition_number integer NOT NULL,
  person_id      uuid NOT NULL,
  because        text NOT NULL CHECK (because IN ('official', 'observer', 'position', 'crew', 'by hand')),
  added_by       uuid,
  added_at       timestamptz NOT NULL DEFAULT now(),
  -- When the film was first opened: nobody has watched longer than since then.
  opened_at      timestamptz,
  -- Where they were last, in seconds of the reel.
  place          double precision NOT NULL DEFAULT 0 CHECK (place >= 0),
  -- Seconds of the reel that were played: [[from, to], ...], in order, none touching another.
  stretches      jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(stretches) = 'array'),
  -- Without a reel: numbers of the plays they went through.
  plays          jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(plays) = 'array'),
  -- When all that is asked was first done.
  done_at        timestamptz,
  PRIMARY KEY (conference_id, program_id, edition_number, person_id),
  FOREIGN KEY (conference_id, program_id, edition_number)
    REFERENCES training_audience (conference_id, program_id, edition_number) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, added_by) REFERENCES person (conference_id, id)
);
CREATE INDEX training_viewer_person ON training_viewer (conference_id, person_id);

-- What somebody chose first; it is not changed.
CREATE TABLE training_answer (
  conference_id  uuid NOT NULL,
  program_id     uuid NOT NULL,
  edition_number integer NOT NULL,
  person_id      uuid NOT NULL,
  play_number    integer NOT NULL CHECK (play_number >= 1),
  -- Which of the choices, from 0, and whether it is acceptable.
  choice         integer NOT NULL CHECK (choice >= 0),
  is_right       boolean NOT NULL,
  -- online: by themselves; paper: at a live session; carried: in an earlier edition, on a play that did not change.
  how            text NOT NULL CHECK (how IN ('online', 'paper', 'carried')),
  answered_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, program_id, edition_number, person_id, play_number),
  FOREIGN KEY (conference_id, program_id, edition_number, person_id)
    REFERENCES training_viewer (conference_id, program_id, edition_number, person_id) ON DELETE CASCADE
);
CREATE FUNCTION training_answer_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'the first answer to a question counts; it is not changed' USING ERRCODE = 'restrict_violation';
END
$$;
CREATE TRIGGER training_answer_first BEFORE UPDATE ON training_answer FOR EACH ROW EXECUTE FUNCTION training_answer_stays();

-- A meeting at which an edition was shown; who missed it watches by another day.
CREATE TABLE training_session (
  conference_id  uuid NOT NULL,
  id             uuid NOT NULL DEFAULT gen_random_uuid(),
  program_id     uuid NOT NULL,
  edition_number integer NOT NULL,
  held_on        date NOT NULL,
  place          text NOT NULL CHECK (length(place) BETWEEN 1 AND 200),
  make_up_by     date,
  made_by        uuid,
  made_at        timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, program_id, edition_number)
    REFERENCES training_audience (conference_id, program_id, edition_number) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id)
);
CREATE INDEX training_session_of ON training_session (conference_id, program_id, edition_number);

CREATE TABLE training_attended (
  conference_id uuid NOT NULL,
  session_id    uuid NOT NULL,
  person_id     uuid NOT NULL,
  ticked_by     uuid,
  ticked_at     timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, session_id, person_id),
  FOREIGN KEY (conference_id, session_id) REFERENCES training_session (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, ticked_by) REFERENCES person (conference_id, id)
);

-- An official who is shown in a play, and was told of it before the release.
CREATE TABLE training_shown (
  conference_id   uuid NOT NULL,
  program_id      uuid NOT NULL,
  play_id         uuid NOT NULL,
  person_id       uuid NOT NULL,
  position        text NOT NULL,
  told_by         uuid,
  told_at         timestamptz NOT NULL DEFAULT now(),
  object_until    timestamptz NOT NULL,
  objected_at     timestamptz,
  reason          text NOT NULL DEFAULT '' CHECK (length(reason) <= 1000),
  decision        text CHECK (decision IN ('shown', 'left out')),
  decision_reason text NOT NULL DEFAULT '' CHECK (length(decision_reason) <= 1000),
  decided_by      uuid,
  decided_at      timestamptz,
  PRIMARY KEY (conference_id, program_id, play_id, person_id),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, told_by) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, decided_by) REFERENCES person (conference_id, id),
  CHECK ((decision IS NULL) = (decided_at IS NULL)),
  CHECK (decision IS NULL OR objected_at IS NOT NULL)
);
CREATE INDEX training_shown_person ON training_shown (conference_id, person_id);

-- Who confirmed what is said of film, with the words that were there.
CREATE TABLE training_notice (
  conference_id uuid NOT NULL,
  program_id    uuid NOT NULL,
  person_id     uuid NOT NULL,
  notice        text NOT NULL,
  confirmed_at  timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, program_id, person_id),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);

ALTER TABLE message DROP CONSTRAINT message_kind_check;
ALTER TABLE message ADD CONSTRAINT message_kind_check CHECK (kind IN (
  'invitation', 'offer', 'change', 'withdrawal', 'reminder', 'declined', 'filed', 'returned', 'released',
  'window closing', 'reply', 'ruling', 'letter', 'password link', 'second factor', 'training', 'training reminder',
  'shown in training', 'objection', 'objection decided'));
