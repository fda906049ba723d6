using HilRunner.Testing;

namespace HilRunner.Core.Tests.Documents;

/// <summary>The rig, scenario and suite files of the repository, found by their first key.</summary>
internal static class ExampleDocuments
{
    public static IEnumerable<string> Rigs => Files("rigs", "rig:");
    public static IEnumerable<string> Scenarios => Files("scenarios", "scenario:");
    public static IEnumerable<string> Suites => Files("scenarios", "suite:");

    private static IEnumerable<string> Files(string folder, string firstKey) =>
        Directory.EnumerateFiles(Path.Combine(TestPaths.Root, folder), "*.yaml", SearchOption.AllDirectories)
            .Where(f => File.ReadLines(f).FirstOrDefault(l => l.Length > 0 && l[0] != '#')?.StartsWith(firstKey, StringComparison.Ordinal) == true)
            .Select(f => Path.GetRelativePath(TestPaths.Root, f)).Order(StringComparer.Ordinal);
}
