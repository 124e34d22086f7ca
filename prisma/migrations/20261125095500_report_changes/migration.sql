-- Every change an observer's device sends, with what became of it. The id is made on the device, so that a
-- repeated send is known and applied once. A conflict stays open until a later change `resolves` it.
CREATE TABLE report_change (
  conference_id uuid NOT NULL,
  report_id     uuid NOT NULL,
  id            uuid NOT NULL,
  made_by       uuid NOT NULL,
  kind          text NOT NULL CHECK (length(kind) BETWEEN 1 AND 40),
  content       jsonb NOT NULL CHECK (jsonb_typeof(content) = 'object'),
  outcome       text NOT NULL CHECK (outcome IN ('applied', 'same', 'conflict')),
  theirs        jsonb,
  resolves      uuid,
  received_at   timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, report_id, id),
  CHECK ((outcome = 'conflict') = (theirs IS NOT NULL)),
  FOREIGN KEY (conference_id, report_id) REFERENCES report (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id)
);
CREATE INDEX report_change_open_conflict ON report_change (conference_id, report_id) WHERE outcome = 'conflict';
CREATE INDEX report_change_resolves ON report_change (conference_id, report_id, resolves) WHERE resolves IS NOT NULL;

CREATE TRIGGER report_change_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON report_change
  FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting();
REVOKE UPDATE, DELETE, TRUNCATE ON report_change FROM crewmark_app;

-- The change that last touched the row: a device that has seen another one is told so.
ALTER TABLE play ADD COLUMN change_id uuid;
ALTER TABLE observation ADD COLUMN change_id uuid;
