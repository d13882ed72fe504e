/** One thread of `ebbline simulate`: works out the patients that it is given, one after the other. */
import { parentPort, workerData } from 'node:worker_threads';
import { resultOf, type Job } from './measure.ts';

const job = workerData as Job;
parentPort?.on('message', (index: number) => parentPort?.postMessage(resultOf(job, index)));
