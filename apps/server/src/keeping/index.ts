export { backupFolder, faultSentence, type Keeping } from './backup.ts';
export { restoreFolder, verifyPath } from './restore.ts';
export type { SoundFolder, VerifiedFolder } from './verify-folder.ts';
