// Proves protocols beside the server's own thread, so that no board waits for a large table.
import { parentPort } from 'node:worker_threads';
import { proveProtocol, type CompiledProtocol } from '@ebbline/protocol';

parentPort?.on('message', (protocol: CompiledProtocol) => parentPort?.postMessage(proveProtocol(protocol)));
