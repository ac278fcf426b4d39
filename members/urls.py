"""Addresses of the Share-out and the Hives. Their front doors, `shareout` and `hives`, hang in the roof."""

from django.urls import path

from members.pages import handing, hive_deeds, hives, round_deeds, shareout, treating

app_name = "members"

urlpatterns = [
    path("share-out/plan", round_deeds.plan, name="plan_round"),
    path("share-out/hand-over", handing.hand_over, name="hand_over"),
    path("share-out/bring-back", handing.bring_back, name="bring_back"),
    path("share-out/<int:pk>", shareout.round_page, name="round"),
    path("share-out/<int:pk>/steps", shareout.steps, name="steps"),
    path("share-out/<int:pk>/pack", shareout.pack, name="pack"),
    path("share-out/<int:pk>/open", round_deeds.open_round, name="open_round"),
    path("share-out/<int:pk>/ask", round_deeds.ask, name="ask"),
    path("share-out/<int:pk>/ask/<int:person>", round_deeds.ask, name="ask_for"),
    path("share-out/<int:pk>/close", round_deeds.close, name="close_round"),
    path("share-out/<int:pk>/reopen", round_deeds.reopen, name="reopen_round"),
    path("share-out/<int:pk>/share", round_deeds.share, name="share_out"),
    path("share-out/<int:pk>/no-show", round_deeds.no_show, name="no_show"),
    path("share-out/<int:pk>/end", round_deeds.end, name="end_round"),
    path("hives/new", hive_deeds.add_apiary, name="add_apiary"),
    path("hives/record", hives.treatments, name="treatments"),
    path("hives/<int:pk>", hives.apiary_page, name="apiary"),
    path("hives/<int:pk>/change", hive_deeds.change_apiary, name="change_apiary"),
    path("hives/<int:pk>/hives", hive_deeds.add_hives, name="add_hives"),
    path("hives/<int:pk>/changed", hive_deeds.hive_changed, name="hive_changed"),
    path("hives/<int:pk>/split", hive_deeds.split_hive, name="split_hive"),
    path("hives/<int:pk>/in", treating.strips_in, name="strips_in"),
    path("hives/treatment/<int:pk>", treating.treatment_page, name="treatment"),
    path("hives/treatment/<int:pk>/out", treating.strips_out, name="strips_out"),
    path("hives/treatment/<int:pk>/some-out", treating.some_out, name="some_out"),
    path("hives/treatment/<int:pk>/in-date", treating.correct_in_date, name="correct_in_date"),
    path("hives/strips/<str:code>", handing.bag_page, name="strips"),
    path("hives/strips/<str:code>/pass-on", handing.pass_on, name="pass_on"),
]
