import type { Code } from './codes.ts';

/** The published book of each code. */
export const rulesBooks: Readonly<Record<Code, string>> = {
  college: 'NCAA Football Rules',
  'high school': 'NFHS Football Rules',
};

// Rule numbers as the trade quotes them, from memory but for those in `read`: editions renumber, so each citation says
// to check. A topic without a number in one code cites the book as a whole.
const rules = {
  'ball dead': { college: '4-1-3', 'high school': '4-2-2' },
  'inadvertent whistle': { college: '4-1-2', 'high school': '4-2-3' },
  'out of bounds': { college: '4-2', 'high school': '2-29' },
  'line to gain': { college: '5-1', 'high school': '5-1' },
  'game clock': { college: '3-3-2', 'high school': '3-4' },
  'play clock': { college: '3-2-4', 'high school': '3-6-1' },
  'runoff of ten seconds': { college: '3-4-4', 'high school': undefined },
  replay: { college: '12', 'high school': undefined },
  'helmet off': { college: '3-3-10-b', 'high school': '3-5-10-d' },
  'time-out': { college: '3-3-4', 'high school': '3-5' },
  substitution: { college: '3-5-2', 'high school': '3-7' },
  'offside and false start': { college: '7-1', 'high school': '7-1' },
  'shift and motion': { college: '7-1-4', 'high school': '7-2' },
  formation: { college: '7-1-4', 'high school': '7-2-5' },
  'forward pass': { college: '7-3-2', 'high school': '7-5-2' },
  'backward pass': { college: '2-19-2', 'high school': '2-31-5' },
  'pass interference': { college: '7-3-8 and 7-3-9', 'high school': '7-5-10' },
  'ineligible downfield': { college: '7-3-10', 'high school': '7-5-12' },
  grounding: { college: '7-3-2', 'high school': '7-5-2' },
  catch: { college: '2-4-3', 'high school': '2-4-1' },
  fumble: { college: '2-11-1', 'high school': '2-18' },
  'free kick': { college: '6-1', 'high school': '6-1' },
  'kick touched': { college: '6-1-3 and 6-3', 'high school': '6-1 and 6-2' },
  'kick from scrimmage': { college: '6-3', 'high school': '6-2' },
  'room to catch': { college: '6-4-1', 'high school': '6-5-6' },
  'fair catch': { college: '6-5', 'high school': '6-5' },
  touchdown: { college: '8-2-1', 'high school': '8-2-1' },
  'field goal': { college: '8-4-1', 'high school': '8-4-1' },
  safety: { college: '8-5-1', 'high school': '8-5-2' },
  momentum: { college: '8-5-1', 'high school': '8-5-2' },
  holding: { college: '9-3', 'high school': '9-2' },
  'block in the back': { college: '9-3-6', 'high school': '9-3-5' },
  'block below the waist': { college: '9-1-6', 'high school': '9-3-2' },
  'roughing the passer': { college: '9-1-9', 'high school': '9-4-4' },
  'roughing the kicker': { college: '9-1-16', 'high school': '9-4-5' },
  'contact with the snapper': { college: '9-1-14', 'high school': '9-4-6' },
  targeting: { college: '9-1-3 and 9-1-4', 'high school': '9-4-3' },
  'horse collar and face mask': { college: '9-1-8 and 9-1-15', 'high school': '9-4-3' },
  'late hit': { college: '9-1-7', 'high school': '9-4-3' },
  unsportsmanlike: { college: '9-2-1', 'high school': '9-5' },
  sideline: { college: '9-2-5', 'high school': '9-8' },
  'penalty enforcement': { college: '10-2', 'high school': '10-4' },
  'choice of penalty': { college: '10-1-1', 'high school': '10-1-1' },
  'offsetting fouls': { college: '10-1-4', 'high school': '10-2' },
} as const satisfies Record<string, Record<Code, string | undefined>>;
export type RuleTopic = keyof typeof rules;

/** Those whose number was read in a public copy of the book when it was written here. */
const read: ReadonlySet<string> = new Set(
  (['game clock', 'helmet off', 'runoff of ten seconds'] satisfies RuleTopic[]).map(
    (topic) => `college ${topic}`,
  ),
);

/** `NCAA Football Rules, rule 9-1-6 (number from memory); check the current edition` */
export function cite(topic: RuleTopic, code: Code): string {
  const number = rules[topic][code];
  const where =
    number === undefined
      ? 'from memory'
      : `rule ${number}${read.has(`${code} ${topic}`) ? '' : ' (number from memory)'}`;
  return `${rulesBooks[code]}, ${where}; check the current edition`;
}
