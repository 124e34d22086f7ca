/** The three grades of a game or season: of all duties, of calls only, of mechanics only. One arithmetic for all. */
export const gradeKinds = ['whole', 'calls', 'mechanics'] as const;
export type GradeKind = (typeof gradeKinds)[number];

/** Whether a duty graded as this counts in a grade of that kind. */
export function countsIn(kind: GradeKind, gradedAs: 'mechanics' | 'call'): boolean {
  return kind === 'whole' || (kind === 'calls') === (gradedAs === 'call');
}

/** One value for each kind of grade. */
export type ByKind<T> = Record<GradeKind, T>;

export function byKind<T>(of: (kind: GradeKind) => T): ByKind<T> {
  return { whole: of('whole'), calls: of('calls'), mechanics: of('mechanics') };
}

/** Why there is no grade of a kind, where nothing of it was counted. */
export const nothingCounted: Readonly<ByKind<string>> = {
  whole: 'no counted opportunity',
  calls: 'no call to grade yet',
  mechanics: 'no mechanics to grade yet',
};
