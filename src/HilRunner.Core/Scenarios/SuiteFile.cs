using HilRunner.Core.Documents;

namespace HilRunner.Core.Scenarios;

/// <summary>Reads suite files. Every fault of a file is reported at once; what the keys mean stands in scenarios/README.md.</summary>
public static class SuiteFile
{
    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static Suite Read(string path) => DocumentReader.Parse(SuiteShape.Shape, DocumentReader.ReadText(path), path);
}
