/** Who does something, and in which conference. */
export interface Acting {
  readonly conferenceId: string;
  /** The person who does it; null is the program itself. */
  readonly personId: string | null;
  /** When it counts as done, if not now: a season loaded afterwards keeps its dates. */
  readonly at?: Date;
}

/** A person who does it; a session is one. */
export interface PersonActing extends Acting {
  readonly personId: string;
}

/** A person who does what depends on the day, with the conference's time zone; a session is one. */
export interface PersonInZone extends PersonActing {
  readonly timeZone: string;
}
