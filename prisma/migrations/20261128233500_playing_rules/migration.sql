-- The code a season is judged by, and the mechanics that crews work differently, belong to the rubric version: they
-- decide who owed what, and a filed report keeps the version it was counted under.
ALTER TABLE rubric_version
  ADD COLUMN code text NOT NULL DEFAULT 'college' CHECK (code IN ('college', 'high school')),
  ADD COLUMN practices jsonb NOT NULL DEFAULT '{}';

-- Closed seasons too: the triggers that keep them as they are rest for this statement.
ALTER TABLE rubric_version DISABLE TRIGGER USER;
UPDATE rubric_version v SET code = c.code FROM conference c WHERE c.id = v.conference_id AND c.code <> v.code;
ALTER TABLE rubric_version ENABLE TRIGGER USER;
