import type { FastifyInstance } from 'fastify';
import { publicAddress } from '../../mail/mailer.ts';
import { prepareAssignment, remindObservers } from '../assignment-messages.ts';
import { calendarRoutes } from '../calendar/calendar-routes.ts';
import { observerRoutes } from '../observer-routes.ts';
import { Planner } from '../planner.ts';
import { observerAssignmentPages } from './observer-assignment-pages.ts';
import { observerCoveragePages } from './observer-coverage-pages.ts';
import { observerOwnPages } from './observer-own-pages.ts';
import { observerPlacePages } from './observer-place-pages.ts';
import { observerSettingPages } from './observer-setting-pages.ts';
import { observerWeekPages } from './observer-week-pages.ts';
import { profilePages } from './profile-pages.ts';

/** All of observer assignment: one planner thread, the pages, the API, calendars, its mails and reminders. */
export async function observerPages(app: FastifyInstance): Promise<void> {
  const planner = new Planner();
  app.addHook('onClose', () => planner.close());
  await app.register(observerWeekPages(planner));
  await app.register(observerPlacePages);
  await app.register(observerAssignmentPages);
  await app.register(observerOwnPages);
  await app.register(profilePages);
  await app.register(observerCoveragePages);
  await app.register(observerSettingPages);
  await app.register(observerRoutes(planner));
  await app.register(calendarRoutes);

  const prepare = prepareAssignment(publicAddress(app.settings), app.settings.MAIL_FROM);
  for (const kind of ['offer', 'change', 'withdrawal', 'reminder'] as const)
    app.outbox.prepare(kind, prepare);
  app.outbox.alsoWrites(remindObservers);
}
