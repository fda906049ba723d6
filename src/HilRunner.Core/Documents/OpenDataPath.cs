
namespace HilRunner.Core.Documents;

/// <summary>
/// Paths of recordings in scenario files. <c>${HIL_OPEN_DATA}</c> stands for the folder of open recordings that are never
/// copied into a repository: the environment variable of that name, or ../shared/data beside the checkout.
/// </summary>
internal static class OpenDataPath
{
    public const string Variable = "HIL_OPEN_DATA";
    private const string Reference = "${" + Variable + "}";

    /// <summary>As written but for the variable: relative paths stay relative to the scenario file.</summary>
    public static Shape<string> Shape(string form) => Shapes.Text(form, "recordings/depot-morning.csv").Select(Expand);

    private static string Expand(string path, Node node, Reading reading)
    {
        int at = path.IndexOf("${", StringComparison.Ordinal);
        if (at < 0) { return path; }
        if (at != 0 || !path.StartsWith(Reference + "/", StringComparison.Ordinal) || path.IndexOf("${", 1, StringComparison.Ordinal) >= 0)
        {
            reading.Refuse(node, node.Shown, $"{Reference}/ at the start as the only variable");
            return path;
        }
        if (FolderFor(reading.Folder) is { } folder) { return Path.Combine(folder, path[(Reference.Length + 1)..]); }
        if (!reading.Stored) { reading.Refuse(node, node.Shown, "the folder of open recordings", $"set the environment variable {Variable} to it"); }
        return path;
    }

    private static string? FolderFor(string scenarioFolder)
    {
        if (Environment.GetEnvironmentVariable(Variable) is { Length: > 0 } set) { return set; }
        for (var folder = new DirectoryInfo(Path.GetFullPath(scenarioFolder.Length == 0 ? "." : scenarioFolder)); folder is not null; folder = folder.Parent)
        {
            if (!File.Exists(Path.Combine(folder.FullName, "HilRunner.sln"))) { continue; }
            string beside = Path.GetFullPath(Path.Combine(folder.FullName, "..", "shared", "data"));
            return Directory.Exists(beside) ? beside : null;
        }
        return null;
    }
}
