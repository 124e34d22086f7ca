-- Files that a coordinator checked or was asked about, kept for a while so that they need not be chosen again.
CREATE TABLE import_upload (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  person_id     uuid NOT NULL,
  kept_at       timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);

CREATE TABLE import_upload_file (
  conference_id uuid NOT NULL,
  upload_id     uuid NOT NULL,
  number        integer NOT NULL,
  kind          text NOT NULL,
  file_name     text NOT NULL,
  PRIMARY KEY (conference_id, upload_id, number),
  FOREIGN KEY (conference_id, upload_id) REFERENCES import_upload (conference_id, id) ON DELETE CASCADE
);

-- A file in pieces, so that none is ever in memory whole.
CREATE TABLE import_upload_piece (
  conference_id uuid NOT NULL,
  upload_id     uuid NOT NULL,
  number        integer NOT NULL,
  piece         integer NOT NULL,
  bytes         bytea NOT NULL,
  PRIMARY KEY (conference_id, upload_id, number, piece),
  FOREIGN KEY (conference_id, upload_id, number)
    REFERENCES import_upload_file (conference_id, upload_id, number) ON DELETE CASCADE
);
