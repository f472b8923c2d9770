export { count, dayOf, daysAgo, daysBetween, longDay, promiseWords, shortDay, shortTime, sinceLast } from './dates';
export { frameNumber, framesWords, partWords, spanWords, stageWords } from './frames';
export { withQuery } from './query';
export { answerWords, capital, kinds, principles } from './names';
export { timecode, type Rate } from './timecode';
