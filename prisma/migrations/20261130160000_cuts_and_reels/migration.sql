-- How a play of a program is cut from films. It outlives the play's being taken out: put in again, it is as it was.
CREATE TABLE training_cut (
  conference_id uuid NOT NULL,
  program_id    uuid NOT NULL,
  play_id       uuid NOT NULL,
  cut           jsonb NOT NULL CHECK (jsonb_typeof(cut) = 'object'),
  version       integer NOT NULL DEFAULT 1 CHECK (version >= 1),
  changed_by    uuid,
  changed_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, program_id, play_id),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id),
  FOREIGN KEY (conference_id, changed_by) REFERENCES person (conference_id, id)
);
CREATE INDEX training_cut_of ON training_cut (conference_id, play_id);

-- An edition keeps how its plays were cut: [{ "number": 1, "cut": {...} }, ...], those with film only.
ALTER TABLE training_edition ADD COLUMN cuts jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(cuts) = 'array');

-- A reel: of an edition, or (edition_number null) of a program as it was when the coordinator asked to look at it.
CREATE TABLE reel (
  conference_id  uuid NOT NULL,
  id             uuid NOT NULL DEFAULT gen_random_uuid(),
  program_id     uuid NOT NULL,
  edition_number integer,
  -- Everything it is made of, so that what changes afterwards does not change it.
  plan           jsonb NOT NULL CHECK (jsonb_typeof(plan) = 'object'),
  burned_in      boolean NOT NULL DEFAULT false,
  state          text NOT NULL CHECK (state IN ('waiting', 'ready', 'failed')),
  -- What was made: frames, chapters, plays, stops for questions.
  facts          jsonb,
  bytes          bigint NOT NULL DEFAULT 0 CHECK (bytes >= 0),
  -- Why it could not be made; why making it has to wait: a sentence each.
  failed         text,
  trouble        text,
  progress       double precision NOT NULL DEFAULT 0,
  in_hand_of     uuid,
  in_hand_until  timestamptz,
  attempts       integer NOT NULL DEFAULT 0,
  asked_by       uuid,
  asked_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, asked_by) REFERENCES person (conference_id, id),
  CHECK ((state = 'failed') = (failed IS NOT NULL)),
  CHECK ((state = 'ready') = (facts IS NOT NULL))
);
CREATE INDEX reel_of_program ON reel (conference_id, program_id, edition_number);
CREATE INDEX reel_waiting ON reel (asked_at) WHERE state = 'waiting';
