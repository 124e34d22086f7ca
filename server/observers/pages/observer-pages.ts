import type { FastifyInstance } from 'fastify';
import { remindObservers } from '../assignment-mail.ts';
import { calendarRoutes } from '../calendar/calendar-routes.ts';
import { observerRoutes } from '../observer-routes.ts';
import { Planner } from '../planner.ts';
import { observerAssignmentPages } from './observer-assignment-pages.ts';
import { observerCoveragePages } from './observer-coverage-pages.ts';
import { observerOwnPages } from './observer-own-pages.ts';
import { observerPlacePages } from './observer-place-pages.ts';
import { observerSettingPages } from './observer-setting-pages.ts';
import { observerWeekPages } from './observer-week-pages.ts';

const minutesBetweenReminders = 15;

/** All of observer assignment: one planner thread, the pages, the API, calendars, and reminders by mail. */
export async function observerPages(app: FastifyInstance): Promise<void> {
  const planner = new Planner();
  app.addHook('onClose', () => planner.close());
  await app.register(observerWeekPages(planner));
  await app.register(observerPlacePages);
  await app.register(observerAssignmentPages);
  await app.register(observerOwnPages);
  await app.register(observerCoveragePages);
  await app.register(observerSettingPages);
  await app.register(observerRoutes(planner));
  await app.register(calendarRoutes);

  if (app.settings.SMTP_URL === undefined) return;
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    timer = setInterval(async () => {
      const { failed, reason } = await remindObservers(app).catch((error: Error) => ({
        failed: 1,
        reason: error.message,
      }));
      if (failed > 0) app.log.warn({ reason }, 'reminders could not be sent');
    }, minutesBetweenReminders * 60_000);
    timer.unref();
  });
  app.addHook('onClose', async () => clearInterval(timer));
}
