namespace HilRunner.Testing;

/// <summary>The PostgreSQL server that ci/test starts for the tests.</summary>
internal static class TestPostgres
{
    public const string Variable = "HIL_TEST_POSTGRES";

    /// <summary>Its address; absent: the test fails in CI and says so elsewhere.</summary>
    public static string Address
    {
        get
        {
            if (Environment.GetEnvironmentVariable(Variable) is { Length: > 0 } address) { return address; }
            TestPaths.Lacks($"needs a PostgreSQL server: set {Variable} to its address (postgres://USER@HOST/DATABASE), or run bash ci/test, which starts one");
            throw new InvalidOperationException("not reached");
        }
    }
}
