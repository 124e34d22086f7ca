import { z } from 'zod';
import type { Position } from '../football/positions.ts';
import { seasonName, weeksFields, weeksOfForm } from '../schedule/season-form.ts';
import { errorsOf, type Form, type FormErrors, listOf, textOf } from '../web/form.ts';
import type { NextSeason, Staff } from './next-season-store.ts';

/** Most crews that the form has room for. */
const mostCrews = 40;

/** A crew as the form shows it: `place` is its number on the form. */
type CrewOnForm = {
  place: number;
  name: string;
  members: { position: Position; personId: string }[];
};

const fieldOf = (place: number, position: Position) => `crew-${place}-${position.replaceAll(' ', '-')}`;

/** Crews as sent; those without a name and without officials are none. */
export function crewsSent(form: Form, positions: readonly Position[]): CrewOnForm[] {
  const crews: CrewOnForm[] = [];
  for (let place = 0; place < mostCrews; place += 1) {
    const name = textOf(form[`crew-${place}`]).trim();
    const members = positions
      .map((position) => ({ position, personId: textOf(form[fieldOf(place, position)]) }))
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
  const people = new Map(staff.map((person) => [person.id, person]));
  const leaving = listOf(form.leaves).filter((id) => people.has(id));
  const gone = new Set(leaving);
  const crews = crewsSent(form, positions);
  const names = new Map<string, number>();
  const seats = new Map<string, string>();
  for (const { place, name, members } of crews) {
    if (name === '') wrong[`crew-${place}`] = 'Give the crew a name, or leave its positions empty.';
    else if (name.length > 100) wrong[`crew-${place}`] = 'The name has at most 100 characters.';
    else if (names.has(name)) wrong[`crew-${place}`] = 'Another crew has this name.';
    names.set(name, place);
    for (const { position, personId } of members) {
      const field = fieldOf(place, position);
      const person = people.get(personId);
      const seat = seats.get(personId);
      if (!person?.roles.includes('official')) wrong[field] = 'Choose an official of the conference.';
      else if (gone.has(personId))
        wrong[field] = `${person.name} is marked as leaving. Choose somebody else, or let them stay.`;
      else if (seat) wrong[field] = `${person.name} is in ${seat} already.`;
      seats.set(personId, `crew ${name}, as ${position}`);
    }
  }
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
    for (const { position, personId } of members) form[fieldOf(place, position)] = personId;
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
    name: textOf(form[`crew-${place}`]),
    wrong: wrong[`crew-${place}`],
    seats: positions.map((position) => {
      const field = fieldOf(place, position);
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
