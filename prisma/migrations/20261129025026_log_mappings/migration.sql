-- How a play log from elsewhere is read: its columns and the meaning of its texts, kept by name for the conference and
-- found again by the file's headings. It belongs to no season.
CREATE TABLE log_mapping (
  conference_id uuid NOT NULL REFERENCES conference (id),
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  name          text NOT NULL,
  columns       jsonb NOT NULL,
  mapping       jsonb NOT NULL,
  changed_by    uuid,
  changed_at    timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, id),
  UNIQUE (conference_id, name),
  FOREIGN KEY (conference_id, changed_by) REFERENCES person (conference_id, id)
);
