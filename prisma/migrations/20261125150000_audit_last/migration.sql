-- Locks a conference's audit trail until the transaction ends, and gives what the next entry follows, in one call.
-- VOLATILE: the second query sees what was committed while the first one waited.
CREATE FUNCTION lock_audit_trail(of_conference uuid, OUT at timestamptz, OUT last_number bigint, OUT last_hash text)
LANGUAGE plpgsql VOLATILE AS $$
BEGIN
  PERFORM pg_advisory_xact_lock(hashtextextended('audit ' || of_conference, 0));
  SELECT e.number, e.hash INTO last_number, last_hash
    FROM audit_entry e WHERE e.conference_id = of_conference ORDER BY e.number DESC LIMIT 1;
  -- Milliseconds, because that is what a JavaScript date can carry to the hash and back.
  at := date_trunc('milliseconds', clock_timestamp());
END
$$;
