// Loaded before everything else: puts one bug into the product's source while that is read.
//
//     EBBLINE_PLANTED_BUG='one too far' node --import ./faults/simulation/plant.ts faults/simulation/simulate.ts
import { registerHooks } from 'node:module';
import { pathToFileURL } from 'node:url';
import { bugs } from './bugs.ts';

const wanted = process.env['EBBLINE_PLANTED_BUG'];
const bug = bugs.find(({ name }) => name === wanted);
if (bug === undefined) throw new Error(`no bug is called "${wanted}"`);
const root = pathToFileURL(`${import.meta.dirname}/../../`).href;
let planted = false;

registerHooks({
  load: (url, context, nextLoad) => {
    const loaded = nextLoad(url, context);
    if (url !== `${root}${bug.file}`) return loaded;
    const source = String(loaded.source);
    const parts = source.split(bug.find);
    if (parts.length !== 2)
      throw new Error(
        `"${bug.name}" does not fit ${bug.file} any more: its text stands there ${parts.length - 1} times`,
      );
    planted = true;
    return { ...loaded, source: parts.join(bug.put) };
  },
});
process.on('exit', () => {
  if (!planted) process.stderr.write(`${bug.file} was not loaded: nothing was planted\n`);
});
