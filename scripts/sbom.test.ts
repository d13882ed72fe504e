// Proves     the list of what the product is made of names every package that runs, with its version and digest, and no tool of
//            development; it is the same each time, tells no host to download from and nothing of the machine
// Published  CycloneDX 1.5: the members that a reader needs (from memory)
// Tolerance  exact
import { readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
// @ts-expect-error a script without types
import { npmSbom, sbomText } from './sbom.mjs';

interface Locked {
  readonly version?: string;
  readonly name?: string;
  readonly integrity?: string;
  readonly dev?: boolean;
  readonly link?: boolean;
}
interface Part {
  readonly name: string;
  readonly version: string;
  readonly 'bom-ref': string;
  readonly purl: string;
  readonly hashes?: readonly { readonly alg: string; readonly content: string }[];
}

const root = path.resolve(import.meta.dirname, '..');
const text = sbomText() as string;
const list = JSON.parse(text) as {
  readonly bomFormat: string;
  readonly specVersion: string;
  readonly serialNumber: string;
  readonly components: readonly Part[];
  readonly dependencies: readonly { readonly ref: string; readonly dependsOn: readonly string[] }[];
};
const locked = Object.entries(
  (
    JSON.parse(readFileSync(path.join(root, 'package-lock.json'), 'utf8')) as {
      packages: Record<string, Locked>;
    }
  ).packages,
).filter(([at]) => at.includes('node_modules/'));
const nameAt = (at: string): string => at.slice(at.lastIndexOf('node_modules/') + 'node_modules/'.length);

describe('the list of parts', () => {
  it('names every package that runs, with version and digest', () => {
    const runs = locked.filter(([, one]) => one.dev !== true && one.link !== true);
    expect(runs.length).toBeGreaterThan(80);
    for (const [at, one] of runs) {
      const name = one.name ?? nameAt(at);
      const part = list.components.find(
        (component) => component.purl === `pkg:npm/${name.replace('@', '%40')}@${one.version}`,
      );
      expect(part, `${name} ${one.version}`).toBeDefined();
      const [algorithm, digest] = (one.integrity ?? '').split(/-(.*)/);
      expect(algorithm).toBe('sha512');
      expect(part?.hashes).toContainEqual({
        alg: 'SHA-512',
        content: Buffer.from(digest ?? '', 'base64').toString('hex'),
      });
    }
    for (const name of ['fastify', 'prom-client', 'zod', 'react', 'pdfkit'])
      expect(list.components.some((one) => one['bom-ref'].startsWith(`${name}@`))).toBe(true);
  });

  it('names no tool of development', () => {
    for (const name of ['vitest', '@playwright/test', 'typescript', 'oxlint', 'dmn-js'])
      expect(list.components.some((one) => one['bom-ref'].startsWith(`${name}@`))).toBe(false);
  });

  it('says its form and number, and every reference leads to a part', () => {
    expect([list.bomFormat, list.specVersion]).toEqual(['CycloneDX', '1.5']);
    expect(list.serialNumber).toMatch(
      /^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-a[0-9a-f]{3}-[0-9a-f]{12}$/,
    );
    const parts = new Set([...list.components.map((one) => one['bom-ref']), 'ebbline-house@0.1.0']);
    for (const { ref, dependsOn } of list.dependencies)
      for (const one of [ref, ...dependsOn]) expect(parts, one).toContain(one);
  });

  it('keeps no address to download from, wherever the lock has one', () => {
    const made = npmSbom() as { components: { externalReferences: object[] }[] };
    for (const part of made.components)
      part.externalReferences.push({ type: 'distribution', url: 'https://registry.example/part.tgz' });
    expect(sbomText(made)).toBe(text);
  });

  it('is the same each time, and tells nothing of host, machine or moment', () => {
    expect(sbomText()).toBe(text);
    expect(text).not.toMatch(/registry\./);
    expect(text).not.toMatch(/\.tgz/);
    expect(text).not.toContain('timestamp');
    for (const place of [root, tmpdir(), process.env['HOME'] ?? root])
      expect(text).not.toContain(`"${place}`);
  });
});
