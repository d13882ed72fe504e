// What the product is made of, as CycloneDX 1.5, by npm's own command out of the lock alone: the same lock gives the same
// bytes on every machine. What npm adds of the moment and the place (number, time, folder, its own version, addresses to
// download from) is taken out again or worked out from the contents.
//
//   node scripts/sbom.mjs [file]       default: dist/sbom.cdx.json
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const root = path.resolve(import.meta.dirname, '..');

/** npm's own list of everything in the lock. Its `--omit dev` leaves out parts that both run and develop, so it is not asked for. */
export function npmSbom() {
  const args = ['sbom', '--sbom-format', 'cyclonedx', '--sbom-type', 'application', '--package-lock-only'];
  const cli = process.env.npm_execpath;
  const result = cli?.endsWith('.js')
    ? spawnSync(process.execPath, [cli, ...args], { cwd: root, encoding: 'utf8', maxBuffer: 64 << 20 })
    : spawnSync('npm', args, {
        cwd: root,
        encoding: 'utf8',
        maxBuffer: 64 << 20,
        shell: process.platform === 'win32',
      });
  if (result.status !== 0) throw new Error(`npm sbom ended with ${result.status}: ${result.stderr}`);
  return JSON.parse(result.stdout);
}

const byRef = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

/** Names and versions of what runs: everything that the lock does not mark as a tool of development alone. */
function whatRuns() {
  const { packages } = JSON.parse(readFileSync(path.join(root, 'package-lock.json'), 'utf8'));
  return new Set(
    Object.entries(packages)
      .filter(([at, one]) => at !== '' && one.dev !== true && one.link !== true)
      .map(([at, one]) => `${one.name ?? at.slice(at.lastIndexOf('node_modules/') + 13)}@${one.version}`),
  );
}

/** The list as text, the same for the same lock. */
export function sbomText(made = npmSbom()) {
  const runs = whatRuns();
  const nameOf = ({ purl }) => decodeURIComponent(purl.slice('pkg:npm/'.length));
  const components = made.components.filter((one) => runs.has(nameOf(one)));
  const refs = new Set(components.map((one) => one['bom-ref']));
  const part = (component) => ({
    ...component,
    // Where a copy was fetched from is the builder's affair; its digest says which copy it is.
    externalReferences: (component.externalReferences ?? []).filter(({ type }) => type !== 'distribution'),
  });
  const { component } = made.metadata;
  const document = {
    $schema: made.$schema,
    bomFormat: made.bomFormat,
    specVersion: made.specVersion,
    version: 1,
    metadata: {
      lifecycles: made.metadata.lifecycles,
      tools: made.metadata.tools.map(({ vendor, name }) => ({ vendor, name })),
      component: { ...part(component), name: 'ebbline' },
    },
    components: components.map(part).toSorted((a, b) => byRef(a['bom-ref'], b['bom-ref'])),
    dependencies: made.dependencies
      .filter(({ ref }) => refs.has(ref) || ref === component['bom-ref'])
      .map(({ ref, dependsOn = [] }) => ({
        ref,
        dependsOn: dependsOn.filter((one) => refs.has(one)).toSorted(byRef),
      }))
      .toSorted((a, b) => byRef(a.ref, b.ref)),
  };
  const digest = createHash('sha256').update(JSON.stringify(document)).digest('hex');
  // A UUID of version 8 (RFC 9562): its bits are the digest's own.
  const uuid = `${digest.slice(0, 8)}-${digest.slice(8, 12)}-8${digest.slice(13, 16)}-a${digest.slice(17, 20)}-${digest.slice(20, 32)}`;
  const { $schema, bomFormat, specVersion, ...rest } = document;
  return `${JSON.stringify({ $schema, bomFormat, specVersion, serialNumber: `urn:uuid:${uuid}`, ...rest }, undefined, 2)}\n`;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const to = path.resolve(root, process.argv[2] ?? 'dist/sbom.cdx.json');
  mkdirSync(path.dirname(to), { recursive: true });
  const text = sbomText();
  writeFileSync(to, text);
  console.log(`${path.relative(root, to)}: ${JSON.parse(text).components.length} parts`);
}
