using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>Reads rig files. Every fault of a file is reported at once; what the keys mean stands in rigs/README.md.</summary>
public static class RigFile
{
    /// <summary>Longest rig file.</summary>
    public const long LargestBytes = DocumentReader.Longest;

    /// <summary>Paths in the file become relative to the working directory.</summary>
    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static Rig Read(string path) => Parse(DocumentReader.ReadText(path, LargestBytes), path);

    /// <summary>From text that is kept in a stored run.</summary>
    /// <param name="text">The YAML.</param>
    /// <param name="path">Where the text came from: for messages, and for the paths in it. It need not exist.</param>
    /// <exception cref="BadInputException">The text cannot be used; holds every fault, with its place.</exception>
    public static Rig Parse(string text, string path) => DocumentReader.Parse(RigShape.Shape, text, path);
}
