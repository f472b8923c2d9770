"""What the generator draws from. `tune` is what the measures were made on, `fresh` has other motions, looks and strengths; the
environment variable MOTION_SET names one (fresh by default)."""
import os

TUNE = dict(
    name='tune', salt=18, width=640, height=360,
    clips=['walk', 'run', 'kick', 'jump', 'dance_a', 'spinkick', 'getup_facedown'], clip_weight=[4, 2, 2, 3, 4, 1, 2],
    mocap_share=.55, yaw=(.4, 1.7), key_gap=(18, 30), move_len=(10, 18), frames=(66, 110), fill=(.6, .85),
    styles=['cloth', 'stripes', 'plain', 'plain'], outline=.5, blur=.25, noise=4.0, crf=(16, 27), pan=.15,
    bg_tex=6.0, bg_boxes=(2, 9),
    palette=[[170, 120, 70], [60, 110, 60], [70, 70, 160], [120, 90, 110], [90, 160, 180], [100, 100, 100]],
    skins=[[150, 180, 225], [100, 135, 175], [70, 95, 135]],
    strength=dict(pop=(.015, .05), hitch=(.6, 1.0), ls=(.6, 1.0), ss=(9, 20), sp=(.75, 1.0), us=(.35, .9), step=(.8, 1.0), block=(.7, 1.0), pin=(.75, 1.0),
                  slide=(.025, .08), stomp=(.03, .08), high=(.07, .2), lock=(.6, 1.0), hips=(.75, 1.0)))

FRESH = dict(
    TUNE, name='fresh', salt=77, width=720, height=400,
    clips=['backflip', 'cartwheel', 'crawl', 'dance_b', 'getup_faceup', 'punch', 'roll', 'spin'], clip_weight=[2, 2, 2, 4, 2, 3, 2, 2],
    mocap_share=.5, yaw=(.2, 1.5), key_gap=(15, 27), move_len=(8, 16), frames=(72, 120), fill=(.55, .9),
    styles=['cloth', 'check', 'plain', 'stripes'], outline=.4, blur=.3, noise=5.0, crf=(18, 28), pan=.25,
    palette=[[60, 140, 150], [150, 90, 60], [110, 60, 120], [80, 120, 70], [160, 150, 80], [90, 90, 130]],
    strength=dict(pop=(.017, .045), hitch=(.65, 1.0), ls=(.65, 1.0), ss=(10, 18), sp=(.78, 1.0), us=(.4, .85), step=(.82, 1.0), block=(.72, 1.0), pin=(.78, 1.0),
                  slide=(.028, .075), stomp=(.032, .075), high=(.08, .18), lock=(.62, 1.0), hips=(.78, 1.0)))

PARAMS = {'tune': TUNE, 'fresh': FRESH}[os.environ.get('MOTION_SET', 'fresh')]
