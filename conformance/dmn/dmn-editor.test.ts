// Proves     the DMN files written here open in another party's editor of decision tables without a warning, each table on its own
//            page, and what that editor saves is the same model to us: rows, ids, cells, annotations, our own element.
// Published  dmn-js, a public DMN editor, in a headless Chromium; skipped, saying so, where there is no browser
// Tolerance  none
import { readFile, readdir } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { chromium, type Browser, type Page } from '@playwright/test';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { orThrow } from '@ebbline/core/quantity';
import {
  modelOf,
  readDmn,
  starterFor,
  writeDmn,
  type CompiledProtocol,
  type DmnModel,
} from '@ebbline/protocol';
import { browserSwitches, findBrowser } from '../../scripts/find-browser.mjs';

const starters = new URL('../../packages/protocol/src/starter/', import.meta.url);
const names = (await readdir(starters)).filter((name) => name.endsWith('.dmn')).sort();
const starterFile = (name: string): Promise<string> => readFile(new URL(name, starters), 'utf8');
const editor = createRequire(import.meta.url).resolve('dmn-js/dist/dmn-modeler.development.js');
const executablePath = await findBrowser().catch(() => undefined);

/** What is on the page: the editor's own interface, as far as it is used here. */
interface Editor {
  importXML(xml: string): Promise<{ readonly warnings: readonly { readonly message: string }[] }>;
  getViews(): readonly { readonly type: string; readonly id: string }[];
  open(view: unknown): Promise<{ readonly warnings: readonly { readonly message: string }[] }>;
  saveXML(options: { readonly format: boolean }): Promise<{ readonly xml: string }>;
}

/** Without the engine, which is no part of what a file says. */
const said = async (xml: string): Promise<Omit<DmnModel, 'feel'>> => {
  const { feel: _, ...model } = orThrow(await readDmn(xml));
  return model;
};

interface Opened {
  readonly warnings: readonly string[];
  readonly tables: number;
  readonly xml: string;
}

let browser: Browser | undefined;
let page: Page;
const complaints: string[] = [];

beforeAll(async () => {
  if (executablePath === undefined) return;
  browser = await chromium.launch({ executablePath, args: [...browserSwitches] });
  page = await browser.newPage();
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('console', (message) => {
    if (['warning', 'error'].includes(message.type())) complaints.push(message.text());
  });
  await page.setContent('<div id="editor" style="width: 1200px; height: 800px"></div>');
  await page.addScriptTag({ path: editor });
}, 60_000);
afterAll(async () => {
  await browser?.close();
});

async function throughEditor(xml: string): Promise<Opened> {
  return page.evaluate(async (text) => {
    const holder = document.querySelector('#editor') as HTMLElement;
    holder.replaceChildren();
    const Made = (globalThis as unknown as { DmnJS: new (options: object) => Editor }).DmnJS;
    const made = new Made({ container: holder });
    const warnings = [...(await made.importXML(text)).warnings];
    const views = made.getViews().filter((view) => view.type === 'decisionTable');
    for (const view of views) warnings.push(...(await made.open(view)).warnings);
    const { xml: saved } = await made.saveXML({ format: true });
    return { warnings: warnings.map((one) => one.message), tables: views.length, xml: saved };
  }, xml);
}

const there = executablePath === undefined ? it.skip : it;

describe('a file of ours in another editor', () => {
  there.each(names)('opens without a warning and is saved as the same model: %s', async (name) => {
    const xml = await starterFile(name);
    const before = await said(xml);
    complaints.length = 0;
    const opened = await throughEditor(xml);
    expect([opened.warnings, complaints]).toEqual([[], []]);
    expect(opened.tables).toBe(before.decisions.length);
    expect(await said(opened.xml)).toEqual(before);
  });

  there.each(['UNIQUE', 'FIRST'] as const)(
    'as a draft that was edited here, its tables of hit policy %s',
    async (hitPolicy) => {
      const surgery = starterFor('after-surgery') as CompiledProtocol;
      const draft: CompiledProtocol = {
        ...surgery,
        version: 7,
        tables: surgery.tables.map((table) => ({
          ...table,
          hitPolicy,
          rows: [
            ...table.rows.slice(1),
            {
              id: `${table.decision}-NEW-1`,
              tests: table.inputs.map((input) =>
                input === 'volumeMl'
                  ? { in: [null, 12.5], ranges: [{ from: 20, to: 30, toIn: true as const }, { from: 400 }] }
                  : 0,
              ),
              values: table.outputs.map(() => 'A "quoted" <text> & more, åæø'),
            },
          ],
        })),
      };
      const xml = orThrow(await writeDmn(modelOf(draft)));
      complaints.length = 0;
      const opened = await throughEditor(xml);
      expect([opened.warnings, complaints]).toEqual([[], []]);
      const before = await said(xml);
      expect(
        before.decisions.every((one) => one.logic.kind === 'table' && one.logic.hitPolicy === hitPolicy),
      ).toBe(true);
      expect(await said(opened.xml)).toEqual(before);
    },
  );

  there('would say so: a damaged file gives warnings or is not opened', async () => {
    const [name = ''] = names;
    const xml = (await starterFile(name)).replace(/<(dmn:)?variable /, '<$1notAVariable ');
    const outcome = await throughEditor(xml).then(
      ({ warnings }) => warnings.length,
      () => -1,
    );
    expect(outcome).not.toBe(0);
  });
});
