import { z } from 'zod';
import { type SeasonWeek, weeksFrom } from './season-weeks.ts';

const date = z.iso.date('Write a date as year-month-day, such as 2027-08-30.');
const whole = (least: number, most: number) =>
  z.coerce
    .number(`Write a whole number, ${least} to ${most}.`)
    .int(`Write a whole number, ${least} to ${most}.`)
    .min(least, `It is at least ${least}.`)
    .max(most, `It is at most ${most}.`);

export const seasonName = z
  .string()
  .trim()
  .min(1, 'Write the season’s name, such as 2027.')
  .max(100, 'The name has at most 100 characters.');

/** Weeks as a form asks for them: the first day, how many, and the number of the first. */
export const weeksFields = {
  firstDay: date,
  weeks: whole(1, 30),
  firstWeek: whole(0, 1).default(1),
};

/** A season to be opened, as a form or the API sends it. Its weeks are seven days each, one after the other. */
export const seasonForm = z
  .object({ name: seasonName, crewSize: whole(4, 8), ...weeksFields })
  .refine(({ weeks, firstWeek }) => firstWeek + weeks - 1 <= 30, {
    path: ['weeks'],
    message: 'The last week’s number is at most 30.',
  });

export const weeksOfForm = ({
  firstDay,
  weeks,
  firstWeek,
}: {
  firstDay: string;
  weeks: number;
  firstWeek: number;
}) => weeksFrom(firstDay, weeks, firstWeek);

/** A season's weeks with the days of each, as their page sends them: week 3 as `first-3` and `last-3`. */
export function weeksSent(form: Readonly<Record<string, unknown>>): {
  weeks: SeasonWeek[];
  errors: Record<string, string>;
} {
  const errors: Record<string, string> = {};
  const weeks: SeasonWeek[] = [];
  for (let number = 0; number <= 30; number += 1) {
    const [firstDay, lastDay] = [form[`first-${number}`] ?? '', form[`last-${number}`] ?? ''];
    if (firstDay === '' && lastDay === '') continue;
    const days = z.object({ firstDay: date, lastDay: date }).safeParse({ firstDay, lastDay });
    const before = weeks.at(-1);
    if (!days.success) errors[number] = 'Write both days, or leave both empty to take the week out.';
    else if (days.data.lastDay < days.data.firstDay) errors[number] = 'The last day is before the first.';
    else if (before && days.data.firstDay <= before.lastDay)
      errors[number] = `Week ${before.number} lasts until ${before.lastDay}; this one begins after it.`;
    if (days.success) weeks.push({ number, ...days.data });
  }
  return { weeks, errors };
}
