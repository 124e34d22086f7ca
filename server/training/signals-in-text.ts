import { type Signal, signals } from '../football/signals.ts';

interface SpokenSignal {
  readonly name: Signal;
  /** Its usual number. */
  readonly number: number;
}

/** `touchdown or field goal` is spoken of as either. */
const waysToSay = (name: Signal): string[] => name.split(/, | or /);

/** The officials' signals that a text speaks of, by their numbers. */
export function signalsIn(text: string): SpokenSignal[] {
  const lower = text.toLowerCase();
  return Object.entries(signals)
    .filter(([name]) => waysToSay(name as Signal).some((way) => new RegExp(`\\b${way}\\b`, 'u').test(lower)))
    .map(([name, number]) => ({ name: name as Signal, number }));
}
