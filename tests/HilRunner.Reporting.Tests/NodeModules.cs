using HilRunner.Testing;

namespace HilRunner.Reporting.Tests;

/// <summary>Files of the packages that package.json pins.</summary>
internal static class NodeModules
{
    private static readonly string Folder = Path.Combine(TestPaths.Root, "tests", "HilRunner.Reporting.Tests");

    public static string Find(string package, string relative)
    {
        string path = Path.Combine(Folder, "node_modules", package, relative);
        if (!Path.Exists(path))
        {
            Assert.Fail($"{path} is absent; run: npm install --prefix tests/HilRunner.Reporting.Tests --no-package-lock --ignore-scripts --legacy-peer-deps");
        }
        return path;
    }
}
