using HilRunner.Core.Documents;

namespace HilRunner.Core.Acceptance;

/// <summary>Reads acceptance plans. Every fault of a file is reported at once; what the keys mean stands in scenarios/README.md.</summary>
public static class AcceptancePlanFile
{
    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    /// <param name="stored">The text was fixed earlier: the files that it names need not be there.</param>
    public static AcceptancePlan Parse(string text, string path, bool stored = false) =>
        DocumentReader.Parse(AcceptanceShape.Shape, text, path, stored);

    /// <exception cref="BadInputException">As for <see cref="Parse"/>.</exception>
    public static AcceptancePlan Read(string path) => Parse(DocumentReader.ReadText(path), path);
}
