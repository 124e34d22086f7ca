import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client';

/** How a mail ended: taken by the mail server, to be tried again, or given up. */
export type MailResult = 'sent' | 'tried again' | 'given up';
/** How a try to tell a webhook ended; gone: it said so and was paused. */
export type WebhookResult = 'delivered' | 'tried again' | 'given up' | 'gone';
type SaveResult = 'applied' | 'same' | 'conflict' | 'refused';
type Job = 'grading' | 'letter';

/** Figures of the process itself (memory, processor, event loop): one set, whichever application asks. */
let ofProcess: Registry | undefined;
function processRegistry(): Registry {
  if (!ofProcess) {
    ofProcess = new Registry();
    collectDefaultMetrics({ register: ofProcess });
  }
  return ofProcess;
}

/** What can be seen of the program from outside, for Prometheus. Nothing of it is about a person or a conference. */
export class Metrics {
  readonly #registry = new Registry();
  readonly #requests = new Counter({
    name: 'crewmark_http_requests_total',
    help: 'Requests answered, by route pattern and class of status.',
    labelNames: ['method', 'route', 'status'] as const,
    registers: [this.#registry],
  });
  readonly #durations = new Histogram({
    name: 'crewmark_http_request_duration_seconds',
    help: 'Time until a request was answered.',
    labelNames: ['method', 'route', 'status'] as const,
    buckets: [0.005, 0.02, 0.05, 0.1, 0.3, 1, 3, 10, 30],
    registers: [this.#registry],
  });
  readonly #jobs = new Histogram({
    name: 'crewmark_job_duration_seconds',
    help: 'Time that a piece of work in the background took, by kind and how it ended.',
    labelNames: ['job', 'result'] as const,
    buckets: [0.01, 0.1, 0.3, 1, 3, 10, 30, 120],
    registers: [this.#registry],
  });
  readonly #mail = new Counter({
    name: 'crewmark_mail_total',
    help: 'Mails handed to the mail server, by how that ended.',
    labelNames: ['result'] as const,
    registers: [this.#registry],
  });
  readonly #webhooks = new Counter({
    name: 'crewmark_webhook_tries_total',
    help: 'Tries to tell webhooks of events, by how that ended.',
    labelNames: ['result'] as const,
    registers: [this.#registry],
  });
  readonly #saves = new Counter({
    name: 'crewmark_mark_changes_total',
    help: 'Changes of marks and plays that observers’ devices sent, by how that ended.',
    labelNames: ['result'] as const,
    registers: [this.#registry],
  });

  constructor() {
    // So that each series is there before its first event (Prometheus' advice on instrumentation).
    for (const result of ['sent', 'tried again', 'given up']) this.#mail.inc({ result }, 0);
    for (const result of ['delivered', 'tried again', 'given up', 'gone']) this.#webhooks.inc({ result }, 0);
    for (const result of ['applied', 'same', 'conflict', 'refused']) this.#saves.inc({ result }, 0);
  }

  request(of: { method: string; route: string; status: number; seconds: number }): void {
    const labels = { method: of.method, route: of.route, status: `${Math.floor(of.status / 100)}xx` };
    this.#requests.inc(labels);
    this.#durations.observe(labels, of.seconds);
  }

  mail(result: MailResult): void {
    this.#mail.inc({ result });
  }

  webhook(result: WebhookResult): void {
    this.#webhooks.inc({ result });
  }

  changeSaved(result: SaveResult): void {
    this.#saves.inc({ result });
  }

  /** Times a piece of background work. */
  async job<Result>(job: Job, work: () => Promise<Result>): Promise<Result> {
    const done = this.#jobs.startTimer({ job });
    try {
      const result = await work();
      done({ result: 'done' });
      return result;
    } catch (error) {
      done({ result: 'failed' });
      throw error;
    }
  }

  /** A figure that is looked up whenever somebody asks; a look-up that fails leaves it out. */
  lookedUp(name: string, help: string, label: string, read: () => Promise<Record<string, number>>): void {
    new Gauge({
      name,
      help,
      labelNames: [label],
      registers: [this.#registry],
      async collect() {
        this.reset();
        const found = await read().catch(() => ({}));
        for (const [value, figure] of Object.entries(found)) this.set({ [label]: value }, figure);
      },
    });
  }

  /** In the text format of Prometheus, and what to call it. */
  async text(): Promise<{ contentType: string; body: string }> {
    const all = Registry.merge([processRegistry(), this.#registry]);
    return { contentType: all.contentType, body: await all.metrics() };
  }
}
