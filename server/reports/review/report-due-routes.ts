import type { FastifyInstance } from 'fastify';
import { keepReportDays, reportDaysOf, reportDaysSchema } from './report-due.ts';
import { settingRoutes } from './setting-routes.ts';

/** Until when reports are to be filed: the conference's to set. */
export async function reportDueRoutes(app: FastifyInstance): Promise<void> {
  settingRoutes(app, '/api/report-days', {
    schema: reportDaysSchema,
    tells: 'Within how many days of kickoff observers are to file their reports',
    sets: 'Set within how many days; what is later is overdue, games already played too',
    read: reportDaysOf,
    keep: keepReportDays,
  });
}
