DROP FUNCTION refuse_change();
DROP FUNCTION app_is(text);
DROP FUNCTION app_person();
DROP FUNCTION app_school();
