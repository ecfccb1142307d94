from allauth.account import views as account
from django.conf import settings
from django.urls import URLPattern, URLResolver, include, path

from program.web.accounts import sign_out

# Only these of allauth's views are reachable: no sign-up, no passwords, no second addresses.
sign_in: list[URLPattern] = [
    path("sign-in/", account.request_login_code, name="account_login"),
    path("sign-in/", account.request_login_code, name="account_request_login_code"),
    path("sign-in/code/", account.confirm_login_code, name="account_confirm_login_code"),
    path("sign-out/", sign_out, name="account_logout"),
]

urlpatterns: list[URLPattern | URLResolver] = [
    *sign_in,
    path("", include("program.web.second_factor.urls")),
    path("library/", include("library.urls")),
    path("", include("athletes.urls")),
    path("", include("program.urls")),
]

handler400 = "program.web.something_broke.not_understood"
handler500 = "program.web.something_broke.something_broke"

if settings.DEMO:
    from program.demo.sign_in import walk_in

    urlpatterns.append(path("demo/sign-in/", walk_in, name="demo_sign_in"))
