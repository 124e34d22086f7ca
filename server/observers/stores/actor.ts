/** Who acts, for the audit trail: a session has these. */
export interface Actor {
  readonly conferenceId: string;
  readonly personId: string;
}
