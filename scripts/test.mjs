// The one test command: checks, unit tests in three time zones, hazard controls, browser tests. Adds everything up
// and ends with one plain line. A crashed runner counts as a failure; old reports are removed first.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const reports = path.join(root, '.reports');
rmSync(reports, { recursive: true, force: true });
mkdirSync(reports, { recursive: true });
const only = new Set(process.argv.slice(2));
const wanted = (part) => only.size === 0 || only.has(part);

let passed = 0;
let failed = 0;
let skipped = 0;
const times = [];

const run = (label, command, args, env = {}) => {
  const start = performance.now();
  console.log(`\n— ${label}`);
  const result = spawnSync(command, args, { cwd: root, stdio: 'inherit', env: { ...process.env, ...env } });
  times.push(`${label}: ${((performance.now() - start) / 1000).toFixed(1)} s`);
  return result.status === 0;
};

const check = (label, command, args) => {
  if (run(label, command, args)) passed += 1;
  else failed += 1;
};

const vitest = (label, env, extra = []) => {
  const file = path.join(reports, `unit-${label.replace(/\W/g, '-')}.json`);
  const ok = run(
    `tests, ${label}`,
    'npx',
    ['vitest', 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${file}`, ...extra],
    env,
  );
  if (!existsSync(file)) {
    failed += 1;
    return;
  }
  const report = JSON.parse(readFileSync(file, 'utf8'));
  passed += report.numPassedTests;
  failed += report.numFailedTests;
  skipped += report.numPendingTests + (report.numTodoTests ?? 0);
  if (!ok && report.numFailedTests === 0) failed += 1;
};

if (wanted('check')) {
  check('types', 'npx', ['tsc', '-p', 'tsconfig.json']);
  check('types of the pure rooms', 'npx', ['tsc', '-p', 'tsconfig.pure.json']);
  check('lint', 'npx', ['oxlint', '--quiet']);
  check('format', 'npx', [
    'oxfmt',
    '--check',
    'packages',
    'apps',
    'scripts',
    'conformance',
    'bench',
    'faults',
  ]);
  check('boundaries', 'node', ['scripts/check-boundaries.mjs']);
  check('sources', 'node', ['scripts/check-sources.mjs']);
  check('words', 'node', ['scripts/check-words.mjs']);
  check('documents', 'node', ['scripts/check-docs.mjs']);
  check('settings in the guide', 'node', ['scripts/settings-table.mjs', '--check']);
  check('dependencies', 'node', ['scripts/check-dependencies.mjs']);
  check('change notes', 'node', ['scripts/build-changelog.mjs', '--check']);
}
if (wanted('unit')) {
  vitest('UTC', { TZ: 'UTC' }, ['packages', 'apps/server', 'apps/web', 'scripts']);
  // One owner at every minute, over all 10,000 histories: a check of its own, since it takes half a minute.
  vitest('every minute of 10,000 histories', { TZ: 'UTC', EBBLINE_LONG: '1' }, [
    'packages/core/src/facts/laws',
  ]);
  // These start processes or run the standards' own cases: slower, and no unit tests.
  vitest('command line and conformance', { TZ: 'UTC' }, ['apps/cli', 'conformance']);
  // A hospital in which everything fails; these start processes too.
  vitest('faults', { TZ: 'UTC' }, ['faults']);
  // The rooms that know of time, again where the clock has half hours, and where it changes.
  const timed = [
    'packages/core',
    'packages/interop/src/wardlog',
    'packages/simulate',
    'packages/protocol/src/from-facts',
    'apps/web/src',
  ];
  vitest('Asia-Kolkata', { TZ: 'Asia/Kolkata', EBBLINE_SHORT: '1' }, timed);
  vitest('America-New_York', { TZ: 'America/New_York', EBBLINE_SHORT: '1' }, timed);
}
if (wanted('hazards'))
  check('hazard controls, each switched off', 'node', ['scripts/check-hazards.mjs', '--switch-off']);
if (wanted('browser')) {
  const file = path.join(reports, 'browser.json');
  const ok = run('browser tests', 'npx', ['playwright', 'test', '--reporter=line,json'], {
    PLAYWRIGHT_JSON_OUTPUT_NAME: file,
  });
  if (existsSync(file)) {
    const { stats } = JSON.parse(readFileSync(file, 'utf8'));
    passed += stats.expected + stats.flaky;
    failed += stats.unexpected;
    skipped += stats.skipped;
    if (!ok && stats.unexpected === 0) failed += 1;
  } else failed += 1;
}

console.log(`\n${times.join('\n')}\n`);
console.log(`${passed} passed, ${failed} failed, ${skipped} skipped`);
process.exit(failed === 0 ? 0 : 1);
