-- A second factor beside the password: one-time codes of an app (RFC 6238). The secret lies here as it is, since the
-- server has to reckon with it; recovery codes are kept as hashes.
CREATE TABLE second_factor (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  -- In base32 (RFC 4648), as it is typed into an app.
  secret        text NOT NULL,
  begun_at      timestamptz NOT NULL DEFAULT now(),
  -- Null until a first code proved that the app has it: before, it opens and bars nothing.
  confirmed_at  timestamptz,
  -- The time step of the newest code that was accepted: neither it nor an earlier one is accepted again.
  last_step     bigint NOT NULL DEFAULT 0,
  PRIMARY KEY (conference_id, person_id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);

CREATE TABLE recovery_code (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  code_hash     text NOT NULL,
  used_at       timestamptz,
  PRIMARY KEY (conference_id, person_id, code_hash),
  FOREIGN KEY (conference_id, person_id) REFERENCES second_factor (conference_id, person_id) ON DELETE CASCADE
);

ALTER TABLE conference ADD COLUMN second_factor_needed boolean NOT NULL DEFAULT false;

-- 'second step': the password was right; a link that lives for minutes carries whose it was.
ALTER TABLE account_link DROP CONSTRAINT account_link_purpose_check;
ALTER TABLE account_link ADD CONSTRAINT account_link_purpose_check
  CHECK (purpose IN ('invitation', 'reset', 'sign-in', 'second step'));

ALTER TABLE message DROP CONSTRAINT message_kind_check;
ALTER TABLE message ADD CONSTRAINT message_kind_check CHECK (kind IN (
  'invitation', 'offer', 'change', 'withdrawal', 'reminder', 'declined', 'filed', 'returned', 'released',
  'window closing', 'reply', 'ruling', 'letter', 'password link', 'second factor'));
