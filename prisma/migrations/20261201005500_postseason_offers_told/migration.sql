-- Three more kinds of messages, beside whichever there are: of offers to work games after the season.
DO $$
DECLARE
  had text := (SELECT pg_get_constraintdef(oid) FROM pg_constraint
                WHERE conrelid = 'message'::regclass AND conname = 'message_kind_check');
BEGIN
  ALTER TABLE message DROP CONSTRAINT message_kind_check;
  EXECUTE 'ALTER TABLE message ADD CONSTRAINT message_kind_check ' || replace(had, 'ARRAY[',
    'ARRAY[''postseason offer'', ''postseason offer withdrawn'', ''postseason offer declined'', ');
END
$$;
