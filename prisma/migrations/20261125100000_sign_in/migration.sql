-- Counts of failed sign-ins per e-mail and per address, in the columns that rate-limiter-flexible expects. Keys are
-- hashes: what people type into the wrong field is not kept. expire: milliseconds since 1970.
CREATE TABLE sign_in_attempt (
  key    text PRIMARY KEY,
  points integer NOT NULL DEFAULT 0,
  expire bigint
);
CREATE INDEX sign_in_attempt_expire ON sign_in_attempt (expire);

-- 'sign-in': the password was right in several conferences; a link that lives for minutes carries the choice.
ALTER TABLE account_link DROP CONSTRAINT account_link_purpose_check;
ALTER TABLE account_link ADD CONSTRAINT account_link_purpose_check
  CHECK (purpose IN ('invitation', 'reset', 'sign-in'));
CREATE INDEX account_link_expiry ON account_link (expires_at);
