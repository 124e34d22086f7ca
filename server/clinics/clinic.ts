import { z } from 'zod';
import { audienceFault, audienceFields } from '../knowledge/audience.ts';
import { type AttendanceState, attendanceStates } from '../knowledge/clinic-rows.ts';
import { typedDay, typedText } from '../text/typed-text.ts';
import { wholeNumber } from '../web/whole-number.ts';

export const clinicSchema = z
  .object({
    title: typedText({ least: 1, most: 200, tooShort: 'give the clinic a title' }),
    heldOn: typedDay(),
    place: typedText({ most: 200 }).default(''),
    minutes: wholeNumber('minutes', 1, 1440).nullable().default(null),
    makeUp: typedText({ most: 500 }).default('').describe('what makes up for it, for who missed it'),
    ...audienceFields,
  })
  .superRefine((clinic, context) => {
    const fault = audienceFault(clinic);
    if (fault) context.addIssue({ code: 'custom', path: [fault.field], message: fault.message });
  });
export type ClinicFrame = z.output<typeof clinicSchema>;

export const attendanceSchema = z.object({
  officialId: z.uuid(),
  state: z.enum(attendanceStates),
  note: typedText({ most: 500 }).default(''),
});
export type AttendanceNoted = z.output<typeof attendanceSchema>;

export const stateWords: Readonly<Record<AttendanceState, string>> = {
  open: 'Not noted yet',
  attended: 'Was there',
  'made up': 'Made it up',
  excused: 'Excused',
  missed: 'Missed it',
};

export interface Attendee {
  readonly officialId: string;
  readonly name: string;
  readonly state: AttendanceState;
  readonly note: string;
}

export interface Clinic extends ClinicFrame {
  readonly id: string;
  readonly seasonId: string;
  readonly people: readonly Attendee[];
}
