import { createRoot } from 'react-dom/client';
import '../shared/fonts.css';
import '../shared/tokens.css';
import '../shared/base.css';
import { App } from './app.tsx';
import { registerWorker } from './register-worker.ts';
import { Session } from './session.ts';

const session = new Session();
const place = document.getElementById('page');
if (!place) throw new Error('index.html has no place for the page');
createRoot(place).render(<App session={session} />);
void session.start();
void registerWorker();
