-- What somebody spoke for a play of a program. Its sound lies in a file beside the conference's films; a cut names it
-- ("voice": { "kind": "recorded", "recordingId": ... }), and so do editions, which keep how their plays were cut.
CREATE TABLE narration (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL,
  program_id    uuid NOT NULL,
  play_id       uuid NOT NULL,
  seconds       double precision NOT NULL CHECK (seconds > 0),
  bytes         bigint NOT NULL CHECK (bytes > 0),
  -- SHA-256 of the file.
  sha256        text NOT NULL CHECK (sha256 ~ '^[0-9a-f]{64}$'),
  made_by       uuid NOT NULL,
  made_at       timestamptz NOT NULL DEFAULT now(),
  -- Since when nothing names it any more.
  let_go_at     timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, program_id) REFERENCES training_program (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id)
);
CREATE INDEX narration_of ON narration (conference_id, program_id, play_id);
