using HilRunner.Core.Files;

namespace HilRunner.Core.Documents;

/// <summary>Reads a whole document of one shape.</summary>
internal static class DocumentReader
{
    /// <summary>Longest document that people write, in bytes.</summary>
    public const long Longest = 4 << 20;

    /// <param name="shape">Of the whole document.</param>
    /// <param name="text">The YAML.</param>
    /// <param name="path">Of the file; need not exist for a stored text.</param>
    /// <param name="stored">The files that the text names need not be there.</param>
    /// <param name="check">What a document must keep to beyond its own shape.</param>
    /// <exception cref="BadInputException">With every fault of the text.</exception>
    public static T Parse<T>(Shape<T> shape, string text, string path, bool stored = false, Action<T, Node, Reading>? check = null)
    {
        var faults = new DocumentFaults(path);
        var reading = new Reading(faults, Path.GetDirectoryName(path) ?? "", stored);
        Node? root = YamlTree.Read(text, faults);
        T? value = default;
        if (root is not null && shape.TryRead(root, reading, out value)) { check?.Invoke(value, root, reading); }
        faults.ThrowIfAny();
        return value!;
    }

    /// <exception cref="BadInputException">No plain file, none that may be read, or a longer one.</exception>
    public static string ReadText(string path, long longest = Longest) => GivenFile.ReadText(path, longest);

    public static BadInputException Bad(string path, string found, string expected, string remedy = "") =>
        new([new(path, 0, 0, found, expected, remedy)]);
}
