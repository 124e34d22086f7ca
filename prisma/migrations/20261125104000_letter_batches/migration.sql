-- Letters are made in batches by a queue of jobs, kept with the data they were made from, and sent by mail.
ALTER TABLE letter
  ADD COLUMN position         text,
  ADD COLUMN template_version integer NOT NULL DEFAULT 0 CHECK (template_version >= 0),
  ADD COLUMN pages            integer NOT NULL DEFAULT 1 CHECK (pages >= 1),
  ADD COLUMN data             jsonb NOT NULL DEFAULT '{}' CHECK (jsonb_typeof(data) = 'object'),
  ADD COLUMN remark           text NOT NULL DEFAULT '',
  ADD CONSTRAINT letter_kind_known CHECK (kind IN ('mid-season', 'end-of-season'));
ALTER TABLE letter_template
  ADD CONSTRAINT letter_template_kind_known
    CHECK (kind IN ('mid-season', 'end-of-season', 'game-report', 'season-book'));

-- What an official was given stays as it was: a correction is a new edition.
CREATE FUNCTION letter_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'letter % was released; a released letter is not changed or deleted', OLD.id
    USING ERRCODE = 'restrict_violation';
END
$$;
CREATE TRIGGER letter_released BEFORE UPDATE OR DELETE ON letter FOR EACH ROW
  WHEN (OLD.released_at IS NOT NULL) EXECUTE FUNCTION letter_is_final();

CREATE TABLE letter_batch (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  kind          text NOT NULL CHECK (kind IN ('mid-season', 'end-of-season')),
  paper         text NOT NULL CHECK (paper IN ('Letter', 'A4')),
  issued_on     date NOT NULL,
  reply_by      date,
  created_by    uuid NOT NULL,
  created_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, created_by) REFERENCES person (conference_id, id)
);
CREATE INDEX letter_batch_season ON letter_batch (conference_id, season_id, created_at);

-- A job is taken with FOR UPDATE SKIP LOCKED and finished in the same transaction, so a process that dies gives it back.
CREATE TABLE letter_job (
  conference_id uuid NOT NULL,
  batch_id      uuid NOT NULL,
  person_id     uuid NOT NULL,
  state         text NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'made', 'unchanged', 'failed')),
  attempts      integer NOT NULL DEFAULT 0 CHECK (attempts >= 0),
  error         text,
  letter_id     uuid,
  finished_at   timestamptz,
  PRIMARY KEY (conference_id, batch_id, person_id),
  FOREIGN KEY (conference_id, batch_id) REFERENCES letter_batch (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id),
  FOREIGN KEY (conference_id, letter_id) REFERENCES letter (conference_id, id)
);
CREATE INDEX letter_job_waiting ON letter_job (batch_id) WHERE state = 'waiting';

CREATE TABLE letter_delivery (
  conference_id uuid NOT NULL,
  letter_id     uuid NOT NULL,
  attached      boolean NOT NULL,
  state         text NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'sent', 'failed')),
  attempts      integer NOT NULL DEFAULT 0 CHECK (attempts >= 0),
  last_error    text,
  next_attempt  timestamptz NOT NULL DEFAULT now(),
  sent_at       timestamptz,
  PRIMARY KEY (conference_id, letter_id),
  FOREIGN KEY (conference_id, letter_id) REFERENCES letter (conference_id, id)
);
CREATE INDEX letter_delivery_waiting ON letter_delivery (next_attempt) WHERE state = 'waiting';
