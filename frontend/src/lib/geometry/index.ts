export * from './points';
export * from './view';
