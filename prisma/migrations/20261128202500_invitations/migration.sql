-- How a person's invitation stands. The link itself is an account_link, made when it is sent or shown: of a mail that
-- waits nothing secret is kept.
CREATE TABLE invitation (
  conference_id uuid NOT NULL,
  person_id     uuid NOT NULL,
  state         text NOT NULL CHECK (state IN ('waiting', 'sent', 'failed', 'handed over', 'withdrawn')),
  asked_by      uuid,
  asked_at      timestamptz NOT NULL DEFAULT now(),
  attempts      integer NOT NULL DEFAULT 0 CHECK (attempts >= 0),
  last_error    text,
  next_attempt  timestamptz NOT NULL DEFAULT now(),
  sent_at       timestamptz,
  PRIMARY KEY (conference_id, person_id),
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX invitation_waiting ON invitation (next_attempt) WHERE state = 'waiting';

-- Someone asked for a mail to set a new password. Whether anybody has the address is found out when it is sent, so
-- that asking takes the same time for everyone.
CREATE TABLE password_request (
  id           uuid PRIMARY KEY DEFAULT gen_random_uuid(),
  email        text NOT NULL,
  asked_at     timestamptz NOT NULL DEFAULT now(),
  attempts     integer NOT NULL DEFAULT 0 CHECK (attempts >= 0),
  next_attempt timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX password_request_next ON password_request (next_attempt);
