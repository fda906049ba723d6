using System.Runtime.CompilerServices;

namespace HilRunner.Testing;

/// <summary>Where tests find the checkout, the open recordings and a folder of their own.</summary>
internal static class TestPaths
{
    /// <summary>The top of the checkout.</summary>
    public static string Root { get; } = FindRoot();

    /// <summary>
    /// A file of the open recordings (HIL_OPEN_DATA, default ../shared/data beside the checkout). Absent: the test fails
    /// in CI and says so elsewhere.
    /// </summary>
    public static string OpenData(string relative)
    {
        string root = Environment.GetEnvironmentVariable("HIL_OPEN_DATA") ?? Path.Combine(Root, "..", "shared", "data");
        string path = Path.GetFullPath(Path.Combine(root, relative));
        if (!File.Exists(path))
        {
            Lacks($"needs the open recordings: {path} is absent; set HIL_OPEN_DATA to their folder");
        }
        return path;
    }

    /// <summary>What this machine lacks for the test: a failure in CI, a skipped test that says why elsewhere.</summary>
    public static void Lacks(string what)
    {
        if (Environment.GetEnvironmentVariable("CI") == "true") { Assert.Fail(what); }
        Assert.Ignore(what);
    }

    /// <summary>An empty folder for one test, removed when disposed.</summary>
    public static TemporaryFolder NewFolder([CallerMemberName] string name = "") => new(name);

    private static string FindRoot()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "HilRunner.sln"))) { return folder.FullName; }
        }
        throw new DirectoryNotFoundException($"no HilRunner.sln above {AppContext.BaseDirectory}");
    }
}

internal sealed class TemporaryFolder : IDisposable
{
    // Digits alone: random letters come to words now and then, and a rig file that names a path with the wrong one is refused.
    public TemporaryFolder(string name) =>
        Path = Directory.CreateDirectory(
            System.IO.Path.Combine(System.IO.Path.GetTempPath(),
                $"hil-{name[..Math.Min(name.Length, 40)]}-{Random.Shared.NextInt64(1_000_000_000_000):000000000000}")).FullName;

    public string Path { get; }

    public string File(string name) => System.IO.Path.Combine(Path, name);

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
