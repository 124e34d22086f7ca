import { v7 as uuidv7 } from 'uuid';
import { everybodysDuty } from '../reports/one-game.ts';
import type { ObserverWithReport } from '../support/observer-with-report.ts';
import { pause } from './program.ts';

const findings = ['missed', 'done', 'model'] as const;
type Mark = { markId: string; changes: number; lastChange: string; finding: string };

/** What all devices have heard. */
export type Heard = { acknowledged: number; statuses: Map<number, number>; unexpected: string[] };

/**
 * An observer's device, as it behaves at a game: each change has an id of its own and is sent until it is answered,
 * however often the server is away meanwhile. It keeps what was confirmed, to be held against the database.
 */
export class Device {
  readonly marks = new Map<string, Mark>();
  readonly confirmed = new Set<string>();
  readonly #observer: ObserverWithReport;
  readonly #address: string;
  readonly #heard: Heard;
  #made = 0;

  constructor(observer: ObserverWithReport, address: string, heard: Heard) {
    this.#observer = observer;
    this.#address = address;
    this.#heard = heard;
  }

  get reportId(): string {
    return this.#observer.reportId;
  }

  /** Makes and sends marks, a few at once now and then, until `going` says no more. */
  async work(going: () => boolean): Promise<void> {
    while (going()) {
      await this.#send(Array.from({ length: Math.random() < 0.3 ? 3 : 1 }, () => this.#next()));
      await pause(Math.random() * 40);
    }
  }

  #next() {
    const { playIds, crew } = this.#observer;
    const positions = Object.keys(crew);
    const number = this.#made++;
    const position = positions[number % positions.length]!;
    const playId = playIds[Math.floor(number / positions.length) % playIds.length]!;
    const cell = `${playId} ${position}`;
    const before = this.marks.get(cell);
    const id = uuidv7();
    const finding = findings[(before?.changes ?? 0) % findings.length]!;
    const mark = {
      markId: before?.markId ?? uuidv7(),
      changes: (before?.changes ?? 0) + 1,
      lastChange: id,
      finding,
    };
    this.marks.set(cell, mark);
    return {
      kind: 'put mark' as const,
      id,
      basedOn: before?.lastChange ?? null,
      markId: mark.markId,
      playId,
      position,
      dutyKey: everybodysDuty.key,
      finding,
      comment: `Change ${mark.changes} of this mark.`,
    };
  }

  async #send(changes: Array<{ id: string }>): Promise<void> {
    const { headers, reportId } = this.#observer;
    const body = JSON.stringify({ changes });
    for (;;) {
      const answer = await fetch(`${this.#address}/api/reports/${reportId}/changes`, {
        method: 'POST',
        headers,
        body,
        signal: AbortSignal.timeout(20_000),
      }).catch(() => undefined);
      const text = await answer?.text().catch(() => undefined);
      if (answer === undefined || text === undefined) {
        await pause(100);
        continue;
      }
      this.#heard.statuses.set(answer.status, (this.#heard.statuses.get(answer.status) ?? 0) + 1);
      if (answer.status === 200) {
        const { results } = JSON.parse(text) as { results: Array<{ id: string; outcome: string }> };
        for (const { id, outcome } of results) {
          if (outcome === 'applied' || outcome === 'same') this.confirmed.add(id);
          else this.#heard.unexpected.push(`${outcome}: ${text.slice(0, 300)}`);
        }
        this.#heard.acknowledged += results.length;
        return;
      }
      const passing = (answer.status === 503 || answer.status === 507) && answer.headers.has('retry-after');
      if (!passing) this.#heard.unexpected.push(`${answer.status}: ${text.slice(0, 300)}`);
      await pause(100);
    }
  }
}
