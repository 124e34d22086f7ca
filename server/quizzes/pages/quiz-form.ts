import type { Queryable } from '../../database/transaction.ts';
import { audienceForm, audienceOfForm } from '../../knowledge/audience-form.ts';
import { countsWords } from '../../knowledge/counting.ts';
import { type Form, type FormErrors, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import { instantOf, localOf } from '../rules/local-time.ts';
import type { Quiz } from '../rules/quiz.ts';

/** A quiz as its form sends it: dates and times of day in the conference's zone. */
export function quizOfForm(form: Form, timeZone: string) {
  const text = (name: string) => textOf(form[name]).trim();
  return {
    title: text('title'),
    opensAt: instantOf(text('opensAt'), timeZone),
    closesAt: instantOf(text('closesAt'), timeZone),
    minutes: text('minutes') || undefined,
    starts: text('starts') || undefined,
    hoursBetween: text('hoursBetween') || undefined,
    counts: text('counts') || undefined,
    draws: text('draws') || null,
    ...audienceOfForm(form),
  };
}
type Sent = ReturnType<typeof quizOfForm>;

const day = 86_400_000;

/** A quiz from tomorrow on for a week, as a start. */
export function emptyQuiz(now: Date, timeZone: string): Sent {
  const morning = (days: number, hour: string) =>
    instantOf(`${localOf(new Date(now.getTime() + days * day), timeZone).slice(0, 10)}T${hour}`, timeZone);
  return {
    title: '',
    opensAt: morning(1, '08:00'),
    closesAt: morning(8, '22:00'),
    minutes: '30',
    starts: '1',
    hoursBetween: '0',
    counts: 'best',
    draws: null,
    audience: 'officials',
    positions: [],
    crewId: null,
  };
}

/** What the form shows: what is kept, or what was sent with what is wrong with it. */
export async function quizForm(
  db: Queryable,
  { conferenceId, timeZone }: { conferenceId: string; timeZone: string },
  seasonId: string,
  values: Sent | Quiz,
  errors: FormErrors = {},
) {
  const local = (at: string | Date) => {
    const instant = new Date(at);
    return Number.isNaN(instant.getTime()) ? String(at) : localOf(instant, timeZone);
  };
  return {
    values: { ...values, opensAt: local(values.opensAt), closesAt: local(values.closesAt) },
    errors,
    timeZone,
    counts: Object.entries(countsWords).map(([id, words]) => ({
      id,
      name: capital(words),
      chosen: id === values.counts,
    })),
    ...(await audienceForm(db, conferenceId, seasonId, values)),
  };
}
