import { type ChangeResult, changeSchema } from './changes.ts';

/** What a device is told of a change that is none: the fields that are wrong, and what is wrong with each. */
export function refusalOfUnfit(unfit: unknown): ChangeResult {
  const { id } = (typeof unfit === 'object' && unfit !== null ? unfit : {}) as { id?: unknown };
  const errors = (changeSchema.safeParse(unfit).error?.issues ?? []).map((issue) => ({
    field: issue.path.map(String).join('.') || 'change',
    message: issue.message.replace(/^Invalid input: .* received undefined$/, 'is needed'),
  }));
  return {
    id: typeof id === 'string' ? id.slice(0, 100) : '',
    outcome: 'refused',
    message: errors.map(({ field, message }) => `${capital(field)} ${message}.`).join(' '),
    errors,
  };
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
