"""Addresses of the shelf."""

from django.urls import include, path

from inventory.pages import containers, incidents, ledger, lots, outlook, questions, receiving, settings, shelf, stock

_inside = [
    path("materials/new", settings.add_material, name="material_new"),
    path("materials/<int:pk>", shelf.material_page, name="material"),
    path("materials/<int:pk>/change", settings.change_material, name="material_change"),
    path("outlook", outlook.outlook_page, name="outlook"),
    path("materials/<int:pk>/outlook", outlook.material_outlook, name="outlook_of"),
    path("receive", receiving.choose, name="receive_choose"),
    path("receive/<int:pk>", receiving.receive_page, name="receive"),
    path("lots/<str:code>", lots.lot_page, name="lot"),
    path("lots/<str:code>/certificate", lots.certificate, name="certificate"),
    path("lots/<str:code>/certificate/new", lots.add_certificate, name="certificate_new"),
    path("lots/<str:code>/weigh", containers.weigh, name="weigh"),
    path("lots/<str:code>/containers/new", containers.add, name="container_new"),
    path("lots/<str:code>/containers/<int:pk>/open", containers.open_it, name="container_open"),
    path("lots/<str:code>/containers/<int:pk>/weigh", containers.weigh_one, name="container_weigh"),
    path("lots/<str:code>/containers/<int:pk>/move", containers.move, name="container_move"),
    path("lots/<str:code>/containers/<int:pk>/empty", containers.empty, name="container_empty"),
    path("things/<str:code>/draw", stock.draw, name="draw"),
    path("things/<str:code>/move", stock.transfer, name="transfer"),
    path("things/<str:code>/discard", stock.discard, name="discard"),
    path("things/<str:code>/count", stock.count, name="count"),
    path("things/<str:code>/find", stock.find, name="find"),
    path("things/<str:code>/spill", incidents.spill, name="spill"),
    path("incidents", incidents.book, name="incidents"),
    path("incidents/new", incidents.note, name="incident_new"),
    path("incidents/<int:pk>", incidents.incident, name="incident"),
    path("ledger", ledger.ledger_page, name="ledger"),
    path("ledger/<int:pk>/correct", ledger.correct, name="correct"),
    path("deeds/<int:pk>", ledger.deed_page, name="deed"),
    path("suppliers", settings.suppliers, name="suppliers"),
    path("suppliers/new", settings.add_supplier, name="supplier_new"),
    path("suppliers/<int:pk>", settings.supplier, name="supplier"),
    path("suppliers/<int:pk>/change", settings.change_supplier, name="supplier_change"),
    path("sheds", settings.sheds, name="sheds"),
    path("sheds/new", settings.add_shed, name="shed_new"),
    path("sheds/<int:pk>", shelf.shed_page, name="shed"),
    path("sheds/<int:pk>/change", settings.change_shed, name="shed_change"),
    path("questions", questions.questions, name="questions"),
    path("questions/<int:pk>", questions.question, name="question"),
    path("questions/<int:pk>/settle", questions.settle, name="question_settle"),
]

urlpatterns = [
    path("shelf", shelf.shelf_page, name="shelf"),
    path("shelf/", include((_inside, "inventory"))),
]
