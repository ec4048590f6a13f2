"""Addresses of the pages on which people change things."""

from django.urls import URLPattern, path

from frontend.editing.views import activity, files, invitations, joining, members, projects, records, signing_in, tokens


def _record_pages(kind: str) -> list[URLPattern]:
    """The pages of every noun that hangs on a project or a venue."""
    base, own = f"{kind}s/<uuid:parent_id>/records/<slug:path>/", {"kind": kind}
    one = f"{base}<uuid:record_id>/"
    return [
        path(base, records.listing, own, name=f"{kind}-records-list"),
        path(f"{base}new/", records.new, own, name=f"{kind}-records-new"),
        path(one, records.edit, own, name=f"{kind}-records-edit"),
        path(f"{one}delete/", records.delete, own, name=f"{kind}-records-delete"),
        path(f"{one}history/", records.history, own, name=f"{kind}-records-history"),
    ]


HERE = "projects/<uuid:project_id>/"
urlpatterns: list[URLPattern] = [
    path("sign-in/", signing_in.SignIn.as_view(), name="sign-in"),
    path("join/<str:secret>/", joining.join, name="join"),
    path("join/<str:secret>/new-account/", joining.new_account, name="join-with-new-account"),
    path("tokens/", tokens.listing, name="tokens"),
    path("tokens/new/", tokens.new, name="token-new"),
    path("tokens/<uuid:token_id>/revoke/", tokens.revoke, name="token-revoke"),
    path("projects/read-in/", files.read_project, name="project-read"),
    path(f"{HERE}files/", files.files, name="files"),
    path(f"{HERE}files/project.json", files.project_file, name="project-file"),
    path(f"{HERE}files/<slug:table>.csv", files.table_file, name="table-file"),
    path("venues/<uuid:venue_id>/files/venue.json", files.venue_file, name="venue-file"),
    path("venues/<uuid:venue_id>/files/readings.csv", files.readings_file, name="readings-file"),
    path("projects/new/", projects.new, name="project-new"),
    path(f"{HERE}change/", projects.change, name="project-change"),
    path(f"{HERE}delete/", projects.delete, name="project-delete"),
    path(f"{HERE}members/", members.listing, name="members"),
    path(f"{HERE}members/<uuid:member_id>/", members.change, name="member-change"),
    path(f"{HERE}members/<uuid:member_id>/remove/", members.remove, name="member-remove"),
    path(f"{HERE}invitations/", invitations.listing, name="invitations"),
    path(f"{HERE}invitations/<uuid:invitation_id>/withdraw/", invitations.take_back, name="invitation-withdraw"),
    path(f"{HERE}history/", activity.history, name="history"),
    path(f"{HERE}history/<int:revision>/undo/", activity.undo, name="undo"),
    *_record_pages("project"),
    *_record_pages("venue"),
]
