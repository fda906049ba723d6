using System.IO.Enumeration;

namespace HilRunner.Core.Documents;

/// <summary>File patterns: * and ? within a name, ** for any number of folders. Hidden names and links to folders are passed over by **.</summary>
internal static class Glob
{
    /// <summary>Deepest that ** goes.</summary>
    private const int Deepest = 16;

    public static bool HasWildcard(string pattern) => pattern.AsSpan().ContainsAny('*', '?');

    /// <summary>The files that match, sorted ordinally, with / between names.</summary>
    public static IEnumerable<string> Files(string pattern)
    {
        string[] names = pattern.Replace('\\', '/').Split('/');
        string root = names[0].Length == 0 ? "/" : "";
        return Match(root, names[0].Length == 0 ? names[1..] : names, 0).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal);
    }

    private static IEnumerable<string> Match(string folder, ReadOnlyMemory<string> names, int depth)
    {
        string name = names.Span[0];
        var rest = names[1..];
        if (name == "**" && rest.Length > 0)
        {
            foreach (string file in Match(folder, rest, depth)) { yield return file; }
            if (depth == Deepest) { yield break; }
            foreach (string inner in Folders(folder))
            {
                foreach (string file in Match(inner, names, depth + 1)) { yield return file; }
            }
        }
        else if (rest.Length == 0)
        {
            foreach (string file in Named(folder, name, Directory.EnumerateFiles)) { yield return file; }
        }
        else
        {
            var inner = HasWildcard(name) ? Named(folder, name, Directory.EnumerateDirectories) : [Join(folder, name)];
            foreach (string next in inner)
            {
                foreach (string file in Match(next, rest, depth)) { yield return file; }
            }
        }
    }

    private static IEnumerable<string> Folders(string folder) => Named(folder, "*", Directory.EnumerateDirectories)
        .Where(f => !Path.GetFileName(f).StartsWith('.') && new DirectoryInfo(f).LinkTarget is null);

    private static IEnumerable<string> Named(string folder, string pattern, Func<string, IEnumerable<string>> list)
    {
        string where = folder.Length == 0 ? "." : folder;
        if (!Directory.Exists(where)) { return []; }
        return [.. list(where).Select(f => Path.GetFileName(f)).Where(n => FileSystemName.MatchesSimpleExpression(pattern, n, ignoreCase: false)).Select(n => Join(folder, n))];
    }

    private static string Join(string folder, string name) => folder.Length == 0 || folder.EndsWith('/') ? folder + name : $"{folder}/{name}";
}
