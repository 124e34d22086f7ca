/** A tie that somebody declared, as far as it has to do with a game. */
export interface Tie {
  /** `school tie`, `family` ... */
  readonly kind: string;
  readonly with: 'team' | 'official' | 'crew';
  /** The name of the team or crew, or who the official is. */
  readonly name: string;
}

/** `school tie with Home`: why somebody leaves an inquiry to others. */
export const tiesInWords = (ties: readonly Tie[]): string =>
  new Intl.ListFormat('en-US').format(ties.map(({ kind, name }) => `${kind} with ${name}`));

/** Of somebody who is an official as well. */
export const workedIt =
  'You worked this game yourself, so this inquiry is for another coordinator: it was left as it is.';

/** Null where somebody may handle an inquiry, else the sentence that says why not. */
export const whyNotHandle = (ties: readonly Tie[]): string | null =>
  ties.length === 0
    ? null
    : `You declared a ${tiesInWords(ties)}, so this inquiry is for another coordinator: it was left as it is.`;
