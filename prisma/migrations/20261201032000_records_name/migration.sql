-- Whom a record names, by id: ["..."], so that an erasure takes away the files of that person only. Null of a record that was
-- written before: it is taken to name everybody.
ALTER TABLE selection_record
  ADD COLUMN named jsonb CHECK (jsonb_typeof(named) = 'array'),
  -- Why its file is no longer kept; null while it is, or where it went before this was told.
  ADD COLUMN gone_because text CHECK (gone_because IN ('erasure', 'retention')),
  ADD CHECK (gone_because IS NULL OR pdf IS NULL);
