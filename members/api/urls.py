"""Addresses of the Share-out and the Hives under /api/v1/."""

from django.urls import URLPattern, URLResolver, path

from members.api import hives, rounds

urlpatterns: list[URLPattern | URLResolver] = [
    path("rounds", rounds.Rounds.as_view(), name="api_rounds"),
    path("rounds/plan", rounds.plan_round, name="api_plan_round"),
    path("rounds/<int:pk>", rounds.RoundDetail.as_view(), name="api_round"),
    path("rounds/<int:pk>/open", rounds.open_round, name="api_open_round"),
    path("rounds/<int:pk>/close", rounds.close_round, name="api_close_round"),
    path("rounds/<int:pk>/reopen", rounds.reopen_round, name="api_reopen_round"),
    path("rounds/<int:pk>/share-out", rounds.share_out, name="api_share_out"),
    path("rounds/<int:pk>/no-show", rounds.pass_no_show, name="api_pass_no_show"),
    path("rounds/<int:pk>/end", rounds.end_round, name="api_end_round"),
    path("rounds/<int:pk>/ask", rounds.ask, name="api_ask"),
    path("rounds/<int:pk>/keepers", rounds.Keepers.as_view(), name="api_round_keepers"),
    path("rounds/<int:pk>/asks", rounds.Asks.as_view(), name="api_round_asks"),
    path("rounds/<int:pk>/shares", rounds.Shares.as_view(), name="api_round_shares"),
    path("rounds/<int:pk>/runs", rounds.Runs.as_view(), name="api_round_runs"),
    path("rounds/<int:pk>/why", rounds.Why.as_view(), name="api_round_why"),
    path("apiaries", hives.Apiaries.as_view(), name="api_apiaries"),
    path("apiaries/add", hives.add_apiary, name="api_add_apiary"),
    path("apiaries/<int:pk>/change", hives.change_apiary, name="api_change_apiary"),
    path("apiaries/<int:pk>/hives/add", hives.add_hives, name="api_add_hives"),
    path("apiaries/<int:pk>/strips-in", hives.strips_in, name="api_strips_in"),
    path("hives", hives.Hives.as_view(), name="api_hives"),
    path("hives/end", hives.end_hives, name="api_end_hives"),
    path("hives/<int:pk>/split", hives.split_hive, name="api_split_hive"),
    path("treatments", hives.Treatments.as_view(), name="api_treatments"),
    path("treatments/<int:pk>", hives.TreatmentDetail.as_view(), name="api_treatment"),
    path("treatments/<int:pk>/strips-out", hives.strips_out, name="api_strips_out"),
    path("treatments/<int:pk>/in-date", hives.correct_in_date, name="api_correct_in_date"),
    path("strips-held", hives.Held.as_view(), name="api_strips_held"),
    path("hand-overs", hives.HandOvers.as_view(), name="api_hand_overs"),
    path("bags/<str:code>/hand-over", hives.hand_over, name="api_hand_over"),
    path("bags/<str:code>/pass-on", hives.pass_on, name="api_pass_on"),
    path("bags/<str:code>/bring-back", hives.bring_back, name="api_bring_back"),
]
