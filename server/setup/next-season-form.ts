import { z } from 'zod';
import type { Position } from '../football/positions.ts';
import { seasonName, weeksFields, weeksOfForm } from '../schedule/season-form.ts';
import { errorsOf, type Form, type FormErrors, listOf, textOf } from '../web/form.ts';
import { type CrewOnForm, crewsWrong, seatField } from './crews-wrong.ts';
import type { NextSeason, Staff } from './next-season-store.ts';

/** Most crews that the form has room for. */
const mostCrews = 40;

/** Crews as sent; those without a name and without officials are none. */
export function crewsSent(form: Form, positions: readonly Position[]): CrewOnForm[] {
  const crews: CrewOnForm[] = [];
  for (let place = 0; place < mostCrews; place += 1) {
    const name = textOf(form[`crew-${place}`]).trim();
    const members = positions
      .map((position) => ({ position, personId: textOf(form[seatField(place, position)]) }))
      .filter(({ personId }) => personId !== '');
    if (name !== '' || members.length > 0) crews.push({ place, name, members });
  }
  return crews;
}

const head = z
  .object({ name: seasonName, ...weeksFields })
  .refine(({ weeks, firstWeek }) => firstWeek + weeks - 1 <= 30, {
    path: ['weeks'],
    message: 'The last week’s number is at most 30.',
  });

/** The next season as the form tells it, or what is wrong, by field. */
export function nextSeasonSent(
  form: Form,
  positions: readonly Position[],
  staff: readonly Staff[],
): { next?: NextSeason; wrong: FormErrors } {
  const parsed = head.safeParse(form);
  const wrong: FormErrors = parsed.success ? {} : errorsOf(parsed.error);
  const leaving = listOf(form.leaves).filter((sent) => staff.some(({ id }) => id === sent));
  const crews = crewsSent(form, positions);
  const officials = new Map(
    staff.filter(({ roles }) => roles.includes('official')).map(({ id, name }) => [id, name]),
  );
  Object.assign(wrong, crewsWrong(crews, officials, new Set(leaving)));
  if (!parsed.success || Object.keys(wrong).length > 0) return { wrong };
  return {
    wrong,
    next: {
      name: parsed.data.name,
      weeks: weeksOfForm(parsed.data),
      leaving,
      crews: crews.map(({ name, members }) => ({ name, members })),
      asksAvailability: textOf(form.asks) === 'on',
    },
  };
}

/** The form's fields of these crews: what `crewsSent` reads. */
export function crewFields(crews: readonly CrewOnForm[]): Form {
  const form: Form = {};
  for (const { place, name, members } of crews) {
    form[`crew-${place}`] = name;
    for (const { position, personId } of members) form[seatField(place, position)] = personId;
  }
  return form;
}

/** Crews with a choice of officials at each position, for the template. Three are left empty for new ones. */
export function crewViews(
  form: Form,
  positions: readonly Position[],
  staff: readonly Staff[],
  wrong: FormErrors,
  rows: number,
) {
  const officials = staff.filter((person) => person.roles.includes('official'));
  return Array.from({ length: Math.min(rows, mostCrews) }, (_, place) => ({
    field: `crew-${place}`,
    place,
    name: textOf(form[`crew-${place}`]),
    wrong: wrong[`crew-${place}`],
    seats: positions.map((position) => {
      const field = seatField(place, position);
      const chosen = textOf(form[field]);
      return {
        position,
        field,
        wrong: wrong[field],
        officials: officials.map(({ id, name }) => ({ id, name, chosen: id === chosen })),
      };
    }),
  }));
}
