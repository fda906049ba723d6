using HilRunner.Fuzz.Tests.Running;
using HilRunner.Testing;

namespace HilRunner.Fuzz.Tests;

/// <summary>
/// The good files that all tests begin with, made once. A folder that the worker's command line made is used again:
/// HIL_FUZZ_STOCK.
/// </summary>
[SetUpFixture]
public sealed class SharedStock
{
    private static TemporaryFolder? s_folder;

    internal static SharedStock Instance { get; } = new();

    internal Stock Stock { get; private set; } = null!;

    internal string Folder => s_folder!.Path;

    [OneTimeSetUp]
    public void Prepare()
    {
        s_folder = TestPaths.NewFolder("stock");
        Instance.Stock = Environment.GetEnvironmentVariable("HIL_FUZZ_STOCK") is { Length: > 0 } made
            ? new(made) : Stock.Make(Folder);
    }

    [OneTimeTearDown]
    public void TearDown() => s_folder!.Dispose();
}
