import { Problem } from '../web/problem.ts';

const titles = { 401: 'Sign in first', 403: 'Not allowed', 404: 'Not found' } as const;

/** Access that is not given. The sentence is meant for the person who asked; it tells nothing of what is hidden. */
export class Refusal extends Problem {
  override name = 'Refusal';
  constructor(status: keyof typeof titles, detail: string, headers?: Record<string, string>) {
    super(status, titles[status], detail, [], headers);
  }
}

export const notSignedIn = () => new Refusal(401, 'Sign in first.');

/** One answer for what is absent and for what belongs to someone else, so that nobody can probe for the difference. */
export const notYours = (what = 'page') =>
  new Refusal(404, `There is no such ${what}, or it is not yours to see.`);
