// `npm start`: the made-up coast under ./data, unless EBBLINE_DEMO=off.
import { runServer } from './start.ts';

const code = await runServer({}, process.env['EBBLINE_DEMO'] !== 'off');
if (code !== undefined) process.exitCode = code;
