//! Made from the migrations; a test fails when it is stale and says how to write it anew.
#![allow(missing_docs)]

diesel::table! {
    access_link (token_hash) {
        token_hash -> Binary,
        school_id -> Uuid,
        person_id -> Uuid,
        purpose -> Text,
        created_at -> Timestamptz,
        expires_at -> Timestamptz,
        used_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    amendment (id) {
        id -> Uuid,
        school_id -> Uuid,
        critique_id -> Uuid,
        note_id -> Nullable<Uuid>,
        author_id -> Uuid,
        words -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    answer (note_id) {
        note_id -> Uuid,
        school_id -> Uuid,
        critique_id -> Uuid,
        student_id -> Uuid,
        kind -> Text,
        words -> Text,
        updated_at -> Timestamptz,
        mentor_id -> Uuid,
    }
}

diesel::table! {
    assignment (id) {
        id -> Uuid,
        school_id -> Uuid,
        course_id -> Uuid,
        title -> Text,
        brief -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    concern (id) {
        id -> Uuid,
        school_id -> Uuid,
        shot_id -> Uuid,
        student_id -> Uuid,
        critique_id -> Uuid,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    course (id) {
        id -> Uuid,
        school_id -> Uuid,
        name -> Text,
        brief -> Text,
        granted -> Integer,
        promise_days -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    credential (person_id) {
        person_id -> Uuid,
        school_id -> Uuid,
        password_hash -> Text,
        changed_at -> Timestamptz,
    }
}

diesel::table! {
    critique (id) {
        id -> Uuid,
        school_id -> Uuid,
        enrolment_id -> Uuid,
        submission_id -> Uuid,
        revision_id -> Uuid,
        shot_id -> Uuid,
        student_id -> Uuid,
        mentor_id -> Uuid,
        summary -> Text,
        version -> Integer,
        created_at -> Timestamptz,
        released_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    enrolment (id) {
        id -> Uuid,
        school_id -> Uuid,
        course_id -> Uuid,
        student_id -> Uuid,
        mentor_id -> Uuid,
        starts_on -> Date,
        remaining -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    feed (school_id, sort, id) {
        school_id -> Uuid,
        sort -> Text,
        id -> Uuid,
        tx -> BigInt,
    }
}

diesel::table! {
    footage (id) {
        id -> Uuid,
        school_id -> Uuid,
        student_id -> Uuid,
        upload_id -> Nullable<Uuid>,
        filename -> Text,
        source_key -> Text,
        source_bytes -> BigInt,
        probe -> Jsonb,
        state -> Text,
        problem -> Nullable<Jsonb>,
        progress -> Float,
        width -> Integer,
        height -> Integer,
        frames -> Integer,
        fps_num -> Integer,
        fps_den -> Integer,
        variable -> Bool,
        time_base_num -> Nullable<Integer>,
        time_base_den -> Nullable<Integer>,
        frame_pts -> Nullable<Array<BigInt>>,
        last_duration -> Nullable<BigInt>,
        derived -> Nullable<Jsonb>,
        recipe -> Nullable<Integer>,
        created_at -> Timestamptz,
        ready_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    job (id) {
        id -> BigInt,
        school_id -> Uuid,
        person_id -> Uuid,
        kind -> Text,
        key -> Text,
        payload -> Jsonb,
        state -> Text,
        run_at -> Timestamptz,
        attempt -> Integer,
        max_attempts -> Integer,
        lease_token -> Nullable<Uuid>,
        lease_until -> Nullable<Timestamptz>,
        worker -> Nullable<Text>,
        last_error -> Nullable<Text>,
        created_at -> Timestamptz,
        finished_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    lexicon_word (id) {
        id -> Uuid,
        school_id -> Uuid,
        held_in -> Text,
        phrase -> Text,
        meaning -> Text,
        added_by -> Uuid,
        added_at -> Timestamptz,
    }
}

diesel::table! {
    mail (id) {
        id -> Uuid,
        school_id -> Uuid,
        person_id -> Uuid,
        kind -> Text,
        about -> Uuid,
        message_id -> Text,
        recipient -> Text,
        subject -> Text,
        body -> Binary,
        state -> Text,
        last_error -> Nullable<Text>,
        created_at -> Timestamptz,
        sent_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    note (id) {
        id -> Uuid,
        school_id -> Uuid,
        critique_id -> Uuid,
        concern_id -> Uuid,
        revision_id -> Uuid,
        shot_id -> Uuid,
        student_id -> Uuid,
        kind -> Text,
        urgency -> Text,
        principles -> Array<Text>,
        parts -> Jsonb,
        span_start -> Integer,
        span_end -> Integer,
        region -> Nullable<Jsonb>,
        words -> Text,
        ask -> Nullable<Jsonb>,
        version -> Integer,
        created_at -> Timestamptz,
        updated_at -> Timestamptz,
    }
}

diesel::table! {
    person (id) {
        id -> Uuid,
        school_id -> Uuid,
        email -> Text,
        name -> Text,
        roles -> Array<Text>,
        preferences -> Jsonb,
        invited_at -> Nullable<Timestamptz>,
        joined_at -> Nullable<Timestamptz>,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    quota_entry (id) {
        id -> Uuid,
        school_id -> Uuid,
        enrolment_id -> Uuid,
        kind -> Text,
        amount -> Integer,
        submission_id -> Nullable<Uuid>,
        reason -> Nullable<Text>,
        actor_id -> Uuid,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    revision (id) {
        id -> Uuid,
        school_id -> Uuid,
        shot_id -> Uuid,
        number -> Integer,
        parent_id -> Nullable<Uuid>,
        footage_id -> Uuid,
        stage -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    school (id) {
        id -> Uuid,
        slug -> Text,
        name -> Text,
        time_zone -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    session (token_hash) {
        token_hash -> Binary,
        school_id -> Uuid,
        person_id -> Uuid,
        created_at -> Timestamptz,
        seen_at -> Timestamptz,
    }
}

diesel::table! {
    shot (id) {
        id -> Uuid,
        school_id -> Uuid,
        enrolment_id -> Uuid,
        course_id -> Uuid,
        student_id -> Uuid,
        assignment_id -> Nullable<Uuid>,
        title -> Text,
        first_frame -> Integer,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    stroke (id) {
        id -> Uuid,
        school_id -> Uuid,
        critique_id -> Uuid,
        note_id -> Nullable<Uuid>,
        frame -> Integer,
        hold_to -> Integer,
        color -> Text,
        size -> Float,
        pen -> Bool,
        points -> Jsonb,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    submission (id) {
        id -> Uuid,
        school_id -> Uuid,
        enrolment_id -> Uuid,
        student_id -> Uuid,
        shot_id -> Uuid,
        revision_id -> Uuid,
        idem_key -> Text,
        request_hash -> Binary,
        words -> Text,
        sent_at -> Timestamptz,
        promised_on -> Date,
        opened_at -> Nullable<Timestamptz>,
        withdrawn_at -> Nullable<Timestamptz>,
        returned_at -> Nullable<Timestamptz>,
        return_reason -> Nullable<Text>,
    }
}

diesel::table! {
    suggestion (note_id, field, value) {
        note_id -> Uuid,
        field -> Text,
        value -> Jsonb,
        school_id -> Uuid,
        critique_id -> Uuid,
        mentor_id -> Uuid,
        before -> Nullable<Jsonb>,
        score -> Nullable<Float>,
        lexicon -> Text,
        weights -> Text,
        created_at -> Timestamptz,
    }
}

diesel::table! {
    trace (id) {
        id -> Uuid,
        school_id -> Uuid,
        critique_id -> Uuid,
        part -> Nullable<Jsonb>,
        color -> Text,
        dots -> Jsonb,
        created_at -> Timestamptz,
        updated_at -> Timestamptz,
    }
}

diesel::table! {
    upload (id) {
        id -> Uuid,
        school_id -> Uuid,
        person_id -> Uuid,
        filename -> Text,
        length -> BigInt,
        received -> BigInt,
        state -> Text,
        problem -> Nullable<Jsonb>,
        writer -> Nullable<Uuid>,
        writer_until -> Nullable<Timestamptz>,
        created_at -> Timestamptz,
        expires_at -> Timestamptz,
    }
}

diesel::table! {
    verdict (critique_id, concern_id) {
        critique_id -> Uuid,
        concern_id -> Uuid,
        school_id -> Uuid,
        shot_id -> Uuid,
        judged -> Text,
        version -> Integer,
        updated_at -> Timestamptz,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    access_link,
    amendment,
    answer,
    assignment,
    concern,
    course,
    credential,
    critique,
    enrolment,
    feed,
    footage,
    job,
    lexicon_word,
    mail,
    note,
    person,
    quota_entry,
    revision,
    school,
    session,
    shot,
    stroke,
    submission,
    suggestion,
    trace,
    upload,
    verdict,
);
