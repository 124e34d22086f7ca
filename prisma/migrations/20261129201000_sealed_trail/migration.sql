-- An entry's hash covers a salted digest of what people wrote in it, not the words themselves: words can be taken away,
-- salt and all, and the chain still holds. Entries of before have neither; their hash covers their words.
ALTER TABLE audit_entry
  ADD COLUMN salt text,
  ADD COLUMN content_digest text CHECK (content_digest ~ '^[0-9a-f]{64}$');

-- When a conference's newest entry was last noted where the database's owner does not reach it.
CREATE TABLE audit_note (
  conference_id uuid NOT NULL REFERENCES conference (id),
  day           date NOT NULL,
  number        bigint NOT NULL,
  hash          text NOT NULL,
  line          text NOT NULL,
  written_at    timestamptz,
  mailed_at     timestamptz,
  PRIMARY KEY (conference_id, day)
);

-- History stays as it was written, but for words that a person's erasure or the conference's retention takes away.
CREATE OR REPLACE FUNCTION refuse_rewriting() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF TG_OP = 'UPDATE' AND current_setting('crewmark.taking_away', true) = 'on' THEN RETURN NULL; END IF;
  RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'insufficient_privilege';
END
$$;

-- The application may not update these tables; this much it may. That an entry was so changed has to be said by a later
-- entry, or verification tells of it.
CREATE FUNCTION take_away_words_of_entry(
  of_conference uuid, of_number bigint, new_reason text, new_before jsonb, new_after jsonb)
RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  outside text := COALESCE(current_setting('crewmark.taking_away', true), '');
BEGIN
  PERFORM set_config('crewmark.taking_away', 'on', true);
  UPDATE audit_entry SET reason = new_reason, before = new_before, after = new_after, salt = NULL
   WHERE conference_id = of_conference AND number = of_number;
  PERFORM set_config('crewmark.taking_away', outside, true);
END
$$;
REVOKE EXECUTE ON FUNCTION take_away_words_of_entry FROM PUBLIC;
GRANT EXECUTE ON FUNCTION take_away_words_of_entry TO crewmark_app;
