import type { Trend } from '../../patterns/trend.ts';

/** What an official's misses over the weeks say of their grades, in a sentence; null where the games are too few to tell. */
export function gradeTrendInWords(trend: Trend | undefined, whose: 'your' | 'the'): string | null {
  if (!trend || trend.method === 'too few') return null;
  const sure = 'more than chance and a change of observers explain.';
  const grades = whose === 'your' ? 'Your grades' : 'The grades';
  // Misses that fall are grades that rise.
  if (trend.direction === 'falling') return `${grades} rose over the weeks, ${sure}`;
  if (trend.direction === 'rising') return `${grades} fell over the weeks, ${sure}`;
  return `No week stands out, and ${whose} grades neither rose nor fell in a way that says anything.`;
}
