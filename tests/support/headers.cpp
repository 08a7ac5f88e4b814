// Nothing but the owner of the precompiled headers of the tests.
