import { type FoundName, type Named, namesIn } from '../../training/names-in-text.ts';
import type { Ruling } from './categories-and-rulings.ts';
import { InquiryRefused, type InquiryState, stateAfter } from './states.ts';

/** What a team is to be answered. */
export interface Decided {
  readonly ruling: Ruling;
  /** As it is cited: "Rule 7-3-8". */
  readonly rule: string;
  readonly reason: string;
  /** Why it says something else than the second reader; empty where it does not. */
  readonly differs: string;
  /** Words that look like names of officials or crews are meant as they are. */
  readonly namesMeant: boolean;
}

/** Ends what is said of a field that names somebody; whoever reads it may say that it is meant. */
export const namesNobody = 'an answer names nobody.';

/** A field of an answer and what is wrong with it. */
interface AnswerFault {
  readonly field: 'rule' | 'reason' | 'differs';
  readonly message: string;
}

/**
 * Whether an answer may go to its team.
 *
 * @param read what the second reader holds; null while nobody has read it
 * @returns what is wrong with its fields; empty when it may go
 * @throws InquiryRefused when its state does not allow it, or a decisive play has no second reading
 */
export function faultsOfAnswer(
  { state, decisive }: { state: InquiryState; decisive: boolean },
  decided: Decided,
  read: { readonly ruling: Ruling } | null,
  named: Named,
): AnswerFault[] {
  stateAfter(state, 'answer');
  if (decisive && read === null)
    throw new InquiryRefused(
      'This play may have decided the game, so a second reader looks at it before it is answered: ask one, and wait for what they hold.',
    );
  const faults: AnswerFault[] = [];
  if (decided.rule === '')
    faults.push({ field: 'rule', message: 'Cite the rule that it rests on, such as Rule 7-3-8.' });
  if (decided.reason === '')
    faults.push({ field: 'reason', message: 'Give the reason: a ruling without one is not answered.' });
  if (decisive && read !== null && read.ruling !== decided.ruling && decided.differs === '')
    faults.push({
      field: 'differs',
      message: `The second reader holds “${read.ruling}”: write why the answer says something else. The team does not read it.`,
    });
  if (!decided.namesMeant)
    for (const [field, text] of [
      ['rule', decided.rule],
      ['reason', decided.reason],
    ] as const) {
      const found = namesIn(text, { ...named, teams: [] });
      if (found.length > 0) faults.push({ field, message: `Here stands ${inWords(found)}; ${namesNobody}` });
    }
  return faults;
}

const inWords = (found: readonly FoundName[]) =>
  new Intl.ListFormat('en-US').format(
    found.map(({ kind, words }) =>
      kind === 'number'
        ? `the shirt number “${words}”`
        : `“${words}”, the name of ${kind === 'crew' ? 'a crew' : 'an official'}`,
    ),
  );
