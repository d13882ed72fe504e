// Says in words what is wrong when the pinned runtime is not the one that runs.
const major = Number(process.versions.node.split('.')[0]);
if (major < 26) {
  console.error(
    `Ebbline runs on the Node 26 that npm installs with it, but this is Node ${process.versions.node}.\n` +
      'Run it through npm (npm start, npm test, npx ebbline …) after "npm ci". If npm ci ran with --omit=optional, run it again without.',
  );
  process.exit(1);
}
