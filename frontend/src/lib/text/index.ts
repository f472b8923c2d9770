export { count, dayOf, daysAgo, daysBetween, longDay, promiseWords, shortDay, shortTime } from './dates';
export { frameNumber, partWords, spanWords, stageWords } from './frames';
export { withQuery } from './query';
export { kinds, principles } from './names';
export { timecode, type Rate } from './timecode';
