import type { RuleTopic } from './citations.ts';
import type { Code } from './codes.ts';
import type { Foul } from './fouls.ts';

/**
 * From where a penalty is measured. `previous spot`: where the ball was put in play. `end of the run`: where the run
 * ended, or the previous spot when it ended behind that. `spot of the foul`. `all but one`: where the offense fouls
 * behind where its run ends, the spot of the foul. `succeeding spot`: where the next down would start.
 */
type EnforcedFrom =
  | 'previous spot'
  | 'end of the run'
  | 'spot of the foul'
  | 'all but one'
  | 'succeeding spot';

/** What a foul costs. */
export interface Penalty {
  readonly yards: number;
  readonly from: EnforcedFrom;
  /** The offense has a new series. */
  readonly firstDown?: boolean;
  /** The down is not replayed. */
  readonly lossOfDown?: boolean;
  /** The rule behind it. */
  readonly rule: RuleTopic;
}

type Both = Penalty | Readonly<Record<Code, Penalty>>;

const five = (rule: RuleTopic): Penalty => ({ yards: 5, from: 'previous spot', rule });
/** A personal foul of the defense gives a new series in college; in high school only where a book says so. */
const personal = (rule: RuleTopic, firstDownInHighSchool = false): Both => ({
  college: { yards: 15, from: 'end of the run', firstDown: true, rule },
  'high school': {
    yards: 15,
    from: 'end of the run',
    ...(firstDownInHighSchool && { firstDown: true }),
    rule,
  },
});
const kicker = (rule: RuleTopic): Penalty => ({ yards: 15, from: 'previous spot', firstDown: true, rule });
/** College measures what the offense does at or behind the line from the previous spot. */
const block = (yards: number, rule: RuleTopic): Both => ({
  college: { yards, from: 'previous spot', rule },
  'high school': { yards, from: 'all but one', rule },
});

// Yardages, spots and downs are from memory of the books that `citations.ts` names, rules 9 and 10: the current
// edition prevails. By what the foul is called and the team that committed it.
const ofTheOffense: Readonly<Record<string, Both>> = {
  'sideline warning': { yards: 0, from: 'succeeding spot', rule: 'sideline' },
  holding: block(10, 'holding'),
  'block in the back': block(10, 'block in the back'),
  'illegal block below the waist': block(15, 'block below the waist'),
  clipping: block(15, 'block in the back'),
  'false start': five('offside and false start'),
  'delay of game': five('play clock'),
  'illegal formation': five('formation'),
  'illegal shift': five('shift and motion'),
  'illegal motion': five('shift and motion'),
  'illegal substitution': five('substitution'),
  'ineligible receiver downfield': five('ineligible downfield'),
  'offensive pass interference': { yards: 15, from: 'previous spot', rule: 'pass interference' },
  'intentional grounding': {
    college: { yards: 0, from: 'spot of the foul', lossOfDown: true, rule: 'grounding' },
    'high school': { yards: 5, from: 'spot of the foul', lossOfDown: true, rule: 'grounding' },
  },
  'illegal forward pass': { yards: 5, from: 'spot of the foul', lossOfDown: true, rule: 'forward pass' },
  'unsportsmanlike conduct': { yards: 15, from: 'succeeding spot', rule: 'unsportsmanlike' },
  'late hit': { yards: 15, from: 'succeeding spot', rule: 'late hit' },
};
const ofTheDefense: Readonly<Record<string, Both>> = {
  'sideline warning': { yards: 0, from: 'succeeding spot', rule: 'sideline' },
  offside: five('offside and false start'),
  encroachment: five('offside and false start'),
  'illegal substitution': five('substitution'),
  'defensive holding': {
    college: { yards: 10, from: 'previous spot', firstDown: true, rule: 'holding' },
    'high school': { yards: 10, from: 'previous spot', rule: 'holding' },
  },
  'defensive pass interference': {
    college: { yards: 15, from: 'previous spot', firstDown: true, rule: 'pass interference' },
    'high school': { yards: 15, from: 'previous spot', rule: 'pass interference' },
  },
  'unnecessary roughness': personal('late hit'),
  facemask: personal('horse collar and face mask'),
  'horse collar': personal('horse collar and face mask'),
  'roughing the passer': personal('roughing the passer', true),
  targeting: personal('targeting'),
  'roughing the kicker': kicker('roughing the kicker'),
  'roughing the holder': kicker('roughing the kicker'),
  'running into the kicker': five('roughing the kicker'),
  'roughing the snapper': kicker('contact with the snapper'),
  'unsportsmanlike conduct': {
    college: { yards: 15, from: 'succeeding spot', firstDown: true, rule: 'unsportsmanlike' },
    'high school': { yards: 15, from: 'succeeding spot', rule: 'unsportsmanlike' },
  },
  'late hit': {
    college: { yards: 15, from: 'succeeding spot', firstDown: true, rule: 'late hit' },
    'high school': { yards: 15, from: 'succeeding spot', rule: 'late hit' },
  },
};

/** What a foul costs by the rules book; undefined for one whose penalty depends on more than its name. */
export function penaltyFor({ foul, by }: Foul, code: Code): Penalty | undefined {
  const both = (by === 'offense' ? ofTheOffense : ofTheDefense)[foul.toLowerCase().trim()];
  return both === undefined || 'yards' in both ? both : both[code];
}

/** A penalty goes at most half the way to the goal line of the team that fouled. NCAA 10-2-6, NFHS 10-1-5, from memory. */
export function stepped(from: number, yards: number): number {
  const room = yards < 0 ? from : 100 - from;
  return from + Math.sign(yards) * Math.min(Math.abs(yards), Math.floor(room / 2));
}
