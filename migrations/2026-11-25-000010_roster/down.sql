DROP FUNCTION count_waiting(uuid);
DROP TRIGGER critique_handed_feeds ON critique;
DROP FUNCTION move_enrolment(uuid, uuid);
REVOKE UPDATE (mentor_id) ON enrolment, critique FROM refrain_definer;
