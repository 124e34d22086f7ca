-- An alternate who takes another place of the same game gives up the one offered before: it is neither declined nor withdrawn.
ALTER TABLE selection_offer DROP CONSTRAINT selection_offer_answer_check;
ALTER TABLE selection_offer ADD CONSTRAINT selection_offer_answer_check
  CHECK (answer IN ('accepted', 'declined', 'withdrawn', 'moved up'));

-- Who wrote down an answer that the official gave otherwise than on their own page; and who took the call, and when.
ALTER TABLE selection_offer
  ADD COLUMN recorded_by   uuid,
  ADD COLUMN recorded_note text NOT NULL DEFAULT '' CHECK (length(recorded_note) <= 2000),
  ADD FOREIGN KEY (conference_id, recorded_by) REFERENCES person (conference_id, id),
  ADD CHECK (recorded_by IS NULL OR answer IS NOT NULL);

-- One more kind of messages, beside whichever there are: officials read what was written down as their answer.
DO $$
DECLARE
  had text := (SELECT pg_get_constraintdef(oid) FROM pg_constraint
                WHERE conrelid = 'message'::regclass AND conname = 'message_kind_check');
BEGIN
  ALTER TABLE message DROP CONSTRAINT message_kind_check;
  EXECUTE 'ALTER TABLE message ADD CONSTRAINT message_kind_check ' || replace(had, 'ARRAY[',
    'ARRAY[''postseason answer recorded'', ');
END
$$;
