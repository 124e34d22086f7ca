-- Addresses at which a conference's own programs are told what happens.
CREATE TABLE webhook (
  conference_id  uuid NOT NULL REFERENCES conference (id),
  id             uuid NOT NULL DEFAULT gen_random_uuid(),
  address        text NOT NULL,
  -- Names of events, each once.
  events         jsonb NOT NULL CHECK (jsonb_typeof(events) = 'array'),
  -- Signs what is sent; in the clear, since nothing can be signed with a hash.
  secret         text NOT NULL,
  -- The one before, which signs beside it until then.
  earlier_secret text,
  earlier_until  timestamptz,
  created_by     uuid NOT NULL,
  created_at     timestamptz NOT NULL DEFAULT now(),
  paused_at      timestamptz,
  paused_because text CHECK (paused_because IN ('by hand', 'gone')),
  -- While a process has one of its deliveries in hand, when another may take one: a slow receiver holds up its own only.
  in_hand_until  timestamptz,
  PRIMARY KEY (conference_id, id),
  CONSTRAINT webhook_address UNIQUE (conference_id, address),
  FOREIGN KEY (conference_id, created_by) REFERENCES person (conference_id, id),
  CHECK ((paused_at IS NULL) = (paused_because IS NULL)),
  CHECK ((earlier_secret IS NULL) = (earlier_until IS NULL))
);

-- One event to one address, written in the transaction of what it tells; sent from here.
CREATE TABLE webhook_delivery (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  webhook_id    uuid NOT NULL,
  event         text NOT NULL,
  -- Ids of what it is about, as it happened.
  facts         jsonb NOT NULL,
  happened_at   timestamptz NOT NULL DEFAULT now(),
  state         text NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'delivered', 'given up', 'let be')),
  -- Tries since it was last put in line.
  attempts      integer NOT NULL DEFAULT 0 CHECK (attempts >= 0),
  -- While a process has it in hand, when another may take it.
  next_attempt  timestamptz NOT NULL DEFAULT now(),
  tried_at      timestamptz,
  -- Of the last try: the status code answered, if any, what went wrong, and the beginning of what was answered then.
  status        integer,
  error         text,
  answer        text CHECK (length(answer) <= 200),
  settled_at    timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, webhook_id) REFERENCES webhook (conference_id, id) ON DELETE CASCADE
);
CREATE INDEX webhook_delivery_waiting ON webhook_delivery (next_attempt) WHERE state = 'waiting';
CREATE INDEX webhook_delivery_webhook ON webhook_delivery (conference_id, webhook_id, happened_at);
CREATE INDEX webhook_delivery_given_up ON webhook_delivery (conference_id, webhook_id) WHERE state = 'given up';
