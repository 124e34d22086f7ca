import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import type { FastifyRequest } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import Handlebars from 'handlebars';
import * as format from './format.ts';

const templatesFolder = fileURLToPath(new URL('../../templates/pages', import.meta.url));

type PageOptions = {
  title: string;
  /** Names of browser modules (PART/browser/pages/NAME.ts) that the page loads. */
  scripts?: string[];
  /** Sheets of `web/assets` that it needs besides everybody's. */
  styles?: string[];
  /** 'wide' lets the main column use the whole window, for tables and the entry page. */
  width?: 'wide' | 'narrow';
};

declare module 'fastify' {
  interface FastifyReply {
    /** Sends `templates/pages/NAME.hbs` inside the layout. Values are escaped; `{{{ }}}` is for SVG made here. */
    page(name: string, view: object, options: PageOptions): FastifyReply;
  }
}

type RenderingOptions = {
  /** What every page shows around its own view: who is signed in, the menu. Its `csrf` and `path` reach partials. */
  surroundings: (
    request: FastifyRequest,
    status: number,
  ) => {
    csrf: string;
    path: string;
    session: { personId: string } | null;
  };
};

/** Reads every template once; `reply.page` then only fills them in. */
export const pageRendering = fastifyPlugin<RenderingOptions>(async (app, { surroundings }) => {
  read ??= readTemplates();
  const templates = await read;
  const layout = templates.get('layout')!;

  app.decorateReply('page', function (name, view, options) {
    const template = templates.get(name);
    if (!template) throw new Error(`There is no page template "${name}"`);
    const around = surroundings(this.request, this.statusCode);
    const body = template({ ...around, ...view }, { data: { csrf: around.csrf, path: around.path } });
    const { assets } = app;
    const scripts = options.scripts?.map((script) => assets.address(`${script}.js`));
    const loaded = options.scripts?.flatMap((script) => assets.withNeeds(`${script}.js`)) ?? [];
    const html = layout({
      ...around,
      ...options,
      scripts,
      // Asked for at once, not only when the script that needs them is there.
      needed: [...new Set(loaded)].filter((address) => !scripts?.includes(address)),
      styles: ['style.css', ...(options.styles ?? [])].map((name) => assets.address(name)),
      font: assets.address('latin.woff2'),
      wide: options.width === 'wide',
      body,
    });
    // So that a device never shows what it keeps for one person to another (`web/browser/pages/offline.ts`).
    if (around.session) this.header('crewmark-person', around.session.personId);
    return this.type('text/html; charset=utf-8').header('cache-control', 'no-store').send(html);
  });
});

function registerFormats(handlebars: typeof Handlebars): void {
  handlebars.registerHelper(pageHelpers);
}

/** What templates can ask. A value of a view with such a name is not found: its template says `./name` or `this.name`. */
export const pageHelpers: Handlebars.HelperDeclareSpec = {
  number: (value, digits) => format.number(value, digits),
  percent: (value) => format.percent(value),
  clock: (value) => format.clock(value),
  moment: (value, zone) => format.moment(value, zone),
  day: (value, zone) => format.day(value, zone),
  person: (value) => format.person(value),
  position: (value) => format.positionWithLetter(value),
  capital: (value) => format.capital(String(value ?? '')),
  spot: (value) => format.spot(value),
  playBegins: (play) => format.situation(play),
  byChance: (value) => format.chance(value),
  equal: (one, other) => one === other,
  either: (one, other) => one || other,
  count: (list) => (Array.isArray(list) ? list.length : 0),
  address: (text) => encodeURIComponent(String(text)),
  /** As part of an id, which holds no blank. */
  inId: (text) => String(text).replaceAll(/\s+/g, '-'),
  json: (value) => JSON.stringify(value),
};

type Templates = Map<string, HandlebarsTemplateDelegate>;
/** Of this process: they are the same for every application in it, and compiled at first use. */
let read: Promise<Templates> | undefined;

async function readTemplates(): Promise<Templates> {
  const handlebars = Handlebars.create();
  registerFormats(handlebars);
  const templates: Templates = new Map();
  for (const file of await templateFiles(templatesFolder)) {
    const name = path
      .relative(templatesFolder, file)
      .replaceAll(path.sep, '/')
      .replace(/\.hbs$/, '');
    const source = await readFile(file, 'utf8');
    if (name.startsWith('partials/')) handlebars.registerPartial(name.slice('partials/'.length), source);
    else templates.set(name, handlebars.compile(source));
  }
  return templates;
}

async function templateFiles(folder: string): Promise<string[]> {
  const entries = await readdir(folder, { withFileTypes: true, recursive: true });
  return entries
    .filter((entry) => entry.isFile() && entry.name.endsWith('.hbs'))
    .map((entry) => path.join(entry.parentPath, entry.name));
}
