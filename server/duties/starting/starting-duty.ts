import type { RuleTopic } from '../../football/citations.ts';
import type { Code } from '../../football/codes.ts';
import type { DutyInput } from '../duty.ts';

type Wording = Partial<Pick<DutyInput, 'title' | 'expected' | 'guidance'>>;

/**
 * A duty of the starting rubric as it is written down: for every crew size and as mechanics unless said otherwise;
 * its category is that of its group.
 */
export interface StartingDuty
  extends Omit<DutyInput, 'category' | 'crewSizes' | 'gradedAs' | 'source' | 'guidance'> {
  readonly guidance: string;
  readonly crewSizes?: DutyInput['crewSizes'];
  /** The codes that have this duty; both when left out. */
  readonly codes?: readonly Code[];
  /** The rule behind it; common practice without a source when left out. */
  readonly cites?: RuleTopic;
  /** What a code says otherwise. */
  readonly byCode?: Partial<Record<Code, Wording>>;
}
