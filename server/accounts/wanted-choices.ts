import { digestHour, type Wanted, wantedWays } from '../messages/kinds.ts';

const labels: Readonly<Record<Wanted, string>> = {
  'at once': 'Each message at once',
  daily: `One mail a day, at ${digestHour} in the morning`,
  none: 'No e-mail',
};

/** The three ways of being mailed, as a form offers them. */
export const wantedChoices = (now: Wanted) =>
  wantedWays.map((value) => ({ value, label: labels[value], chosen: value === now }));
