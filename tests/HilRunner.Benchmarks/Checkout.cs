namespace HilRunner.Benchmarks;

internal static class Checkout
{
    /// <summary>Top of the checkout that this program was built in.</summary>
    public static string Root { get; } = Find();

    private static string Find()
    {
        string folder = AppContext.BaseDirectory;
        while (!File.Exists(Path.Combine(folder, "HilRunner.sln"))) { folder = Path.GetDirectoryName(folder)!; }
        return folder;
    }
}
