import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { startSession } from '../../../server/accounts/session.ts';
import type { Play } from '../../../server/football/play.ts';
import { openReport } from '../../../server/reports/filing/open-report.ts';
import { type OneGame, oneGame } from '../../reports/one-game.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { launchChromium, signIn } from './chromium.ts';

/** A server, a browser, and for each test a game of its own with its report open on one device. */
export class EntryPages {
  private constructor(
    readonly database: TestDatabase,
    readonly app: FastifyInstance,
    readonly address: string,
    readonly browser: Browser,
  ) {}

  static async start(): Promise<EntryPages> {
    const database = await testDatabase();
    const app = await testApp(database);
    const address = await app.listen({ port: 0, host: '127.0.0.1' });
    return new EntryPages(database, app, address, await launchChromium());
  }

  async stop(): Promise<void> {
    await this.browser.close();
    await this.app.close();
    await this.database.drop();
  }

  async open(plays: number | readonly Play[]): Promise<OneReport> {
    const game = await oneGame(this.database.pool, plays);
    const who = { conferenceId: game.conferenceId, personId: game.observerId };
    const reportId = await openReport(this.database.pool, who, game);
    const context = await this.browser.newContext({
      viewport: { width: 1280, height: 900 },
      bypassCSP: true,
    });
    await signIn(context, this.address, await startSession(this.database.pool, who));
    const page = await context.newPage();
    await page.goto(`${this.address}/reports/${reportId}/entry`);
    await page.waitForSelector('#report-entry[data-ready]');
    return { game, reportId, context, page };
  }
}

export interface OneReport {
  readonly game: OneGame;
  readonly reportId: string;
  readonly context: BrowserContext;
  readonly page: Page;
}
