-- For how many years a conference keeps what people wrote and who they are; NULL keeps it for good.
CREATE TABLE retention_setting (
  conference_id  uuid PRIMARY KEY REFERENCES conference (id),
  remarks_years  integer CHECK (remarks_years BETWEEN 1 AND 50),
  letters_years  integer CHECK (letters_years BETWEEN 1 AND 50),
  absences_years integer CHECK (absences_years BETWEEN 1 AND 50),
  messages_years integer CHECK (messages_years BETWEEN 1 AND 50),
  tokens_years   integer CHECK (tokens_years BETWEEN 1 AND 50),
  people_years   integer CHECK (people_years BETWEEN 2 AND 50),
  -- Whether the program does it by itself each night, and the conference's day on which it last did.
  nightly        boolean NOT NULL DEFAULT false,
  looked_on      date
);
