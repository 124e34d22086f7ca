import { type Category, categories, rulings } from './categories-and-rulings.ts';
import type { InquiryState } from './states.ts';

/** How an inquiry ended, or that it has not. */
export const outcomes = [...rulings, 'sent back', 'open'] as const;
type Outcome = (typeof outcomes)[number];

interface Counted {
  readonly category: Category | '';
  readonly state: InquiryState;
  readonly answers: readonly { readonly ruling: Outcome }[];
}

export interface CategoryCounts {
  readonly category: string;
  readonly all: number;
  readonly by: Readonly<Record<Outcome, number>>;
}

/**
 * The last answer tells. A reopened inquiry that waits for its second is open; sent back instead, its first answer stands.
 */
function outcomeOf({ state, answers }: Counted): Outcome {
  if (state === 'sent back') return answers.at(-1)?.ruling ?? 'sent back';
  if (state !== 'answered' && state !== 'closed') return 'open';
  return answers.at(-1)?.ruling ?? 'open';
}

/** A season's inquiries by category, in their order, and how they ended; the last row holds all. */
export function seasonCounts(inquiries: readonly Counted[]): CategoryCounts[] {
  const row = (category: string, own: readonly Counted[]): CategoryCounts => ({
    category,
    all: own.length,
    by: Object.fromEntries(
      outcomes.map((outcome) => [outcome, own.filter((one) => outcomeOf(one) === outcome).length]),
    ) as Record<Outcome, number>,
  });
  return [
    ...categories.map((category) =>
      row(
        category,
        inquiries.filter((one) => one.category === category),
      ),
    ),
    row('all', inquiries),
  ];
}
