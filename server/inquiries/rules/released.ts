interface Releasable<Answer extends { readonly answeredAt: Date }> {
  readonly answers: readonly Answer[];
  /** When the coordinator last let those who were asked read what the team was told. */
  readonly releasedAt: Date | null;
}

/** What of it the crew may read: an answer after new film is released by itself. */
export const releasedAnswers = <Answer extends { readonly answeredAt: Date }>({
  answers,
  releasedAt,
}: Releasable<Answer>): Answer[] =>
  answers.filter(({ answeredAt }) => releasedAt !== null && answeredAt <= releasedAt);

/** Whether there is an answer that the crew may not read yet. */
export const hasUnreleased = (inquiry: Releasable<{ readonly answeredAt: Date }>): boolean =>
  releasedAnswers(inquiry).length < inquiry.answers.length;
