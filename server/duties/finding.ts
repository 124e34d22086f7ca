/** What an observer saw of a mechanics duty. Spelled out everywhere: database, API, pages, letters. */
const mechanicsFindings = ['done', 'missed', 'model', 'not seen'] as const;
type MechanicsFinding = (typeof mechanicsFindings)[number];

/** What an observer judged of a call or a decision not to call. */
const callFindings = ['right call', 'right no-call', 'wrong call', 'missed foul', 'cannot tell'] as const;
type CallFinding = (typeof callFindings)[number];

export type Finding = MechanicsFinding | CallFinding;
export const findings: readonly Finding[] = [...mechanicsFindings, ...callFindings];

/** The findings that a duty can get: of a call by how it is judged, of mechanics by what was seen. */
export function findingsOf(gradedAs: 'mechanics' | 'call' | null): readonly Finding[] {
  return gradedAs === 'call' ? callFindings : mechanicsFindings;
}

/** Met, not met, or outside the denominator (the observer could not tell). */
type FindingEffect = 'met' | 'not met' | 'not counted';

const effects: Readonly<Record<Finding, FindingEffect>> = {
  done: 'met',
  model: 'met',
  missed: 'not met',
  'not seen': 'not counted',
  'right call': 'met',
  'right no-call': 'met',
  'wrong call': 'not met',
  'missed foul': 'not met',
  'cannot tell': 'not counted',
};

/** How a finding enters a grade: in numerator and denominator, in the denominator only, or in neither. */
export function effectOf(finding: Finding): FindingEffect {
  return effects[finding];
}
