"""Addresses of the shelf under /api/v1/."""

from django.urls import URLPattern, URLResolver, path

from inventory.api import commands, queries

urlpatterns: list[URLPattern | URLResolver] = [
    path("stock", queries.Stock.as_view(), name="api_stock"),
    path("materials/add", commands.add_material, name="api_material_add"),
    path("materials/<int:pk>/change", commands.change_material, name="api_material_change"),
    path("suppliers", queries.Suppliers.as_view(), name="api_suppliers"),
    path("suppliers/add", commands.add_supplier, name="api_supplier_add"),
    path("suppliers/<int:pk>/change", commands.change_supplier, name="api_supplier_change"),
    path("sheds", queries.Sheds.as_view(), name="api_sheds"),
    path("sheds/add", commands.add_shed, name="api_shed_add"),
    path("sheds/<int:pk>/change", commands.change_shed, name="api_shed_change"),
    path("lots/receive", commands.receive, name="api_receive"),
    path("items", queries.Items.as_view(), name="api_items"),
    path("items/<str:code>", queries.Thing.as_view(), name="api_item"),
    path("items/<str:code>/made-from", queries.Kin.as_view(), name="api_made_from"),
    path("items/<str:code>/went-into", queries.Kin.as_view(is_up=False), name="api_went_into"),
    path("items/<str:code>/draw", commands.draw, name="api_draw"),
    path("items/<str:code>/transfer", commands.transfer, name="api_transfer"),
    path("items/<str:code>/discard", commands.discard, name="api_discard"),
    path("items/<str:code>/count", commands.count, name="api_count"),
    path("items/<str:code>/count-by-weight", commands.count_by_weight, name="api_count_by_weight"),
    path("items/<str:code>/containers/add", commands.add_container, name="api_container_add"),
    path("items/<str:code>/certificate", commands.attach_certificate, name="api_certificate"),
    path("containers/<int:pk>/open", commands.open_container, name="api_container_open"),
    path("containers/<int:pk>/weigh", commands.weigh_container, name="api_container_weigh"),
    path("movements", queries.Movements.as_view(), name="api_movements"),
    path("movements/<int:pk>/correct", commands.correct, name="api_correct"),
    path("questions", queries.Questions.as_view(), name="api_questions"),
    path("questions/<int:pk>/settle", commands.settle_question, name="api_question_settle"),
    path("holds", queries.Holds.as_view(), name="api_holds"),
    path("holds/place", commands.place_hold, name="api_hold_place"),
    path("holds/<int:pk>/lift", commands.lift_hold, name="api_hold_lift"),
    path("holds/<int:pk>/free", commands.free_from_hold, name="api_hold_free"),
    path("deeds/<int:pk>", queries.OneDeed.as_view(), name="api_deed"),
]
