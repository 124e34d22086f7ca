import { codes } from '../../football/codes.ts';
import { positions } from '../../football/positions.ts';
import { type Form, type FormErrors, textOf } from '../../web/form.ts';
import { capital } from '../../web/format.ts';
import { audiences, type Frame } from '../program.ts';

/** A frame as its form sends it, for the schema. */
export const frameOfForm = (form: Form) => {
  const text = (name: string) => textOf(form[name]).trim();
  return {
    title: text('title'),
    goal: text('goal'),
    audience: text('audience') || undefined,
    audiencePosition: text('audiencePosition') || null,
    audienceCrewId: text('audienceCrewId') || null,
    minutes: text('minutes') || undefined,
    dueOn: text('dueOn') || null,
    code: text('code') || undefined,
    mostBad: text('mostBad') || undefined,
  };
};

export const emptyFrame = (code: Frame['code']): Frame => ({
  title: '',
  goal: '',
  audience: 'everybody',
  audiencePosition: null,
  audienceCrewId: null,
  minutes: 20,
  dueOn: null,
  code,
  mostBad: 2,
});

const audienceLabels: Record<Frame['audience'], string> = {
  everybody: 'Everybody',
  position: 'One position',
  crew: 'One crew',
  observers: 'Observers',
};

/** What the form shows: what is kept, or what was sent with what is wrong with it. */
export function frameForm(
  values: Frame | ReturnType<typeof frameOfForm>,
  crews: ReadonlyMap<string, string>,
  errors: FormErrors = {},
) {
  return {
    values,
    errors,
    audiences: audiences.map((id) => ({ id, name: audienceLabels[id], chosen: id === values.audience })),
    positions: positions.map((id) => ({ id, name: capital(id), chosen: id === values.audiencePosition })),
    crews: [...crews].map(([id, name]) => ({ id, name, chosen: id === values.audienceCrewId })),
    codes: codes.map((id) => ({ id, name: capital(id), chosen: id === values.code })),
  };
}
