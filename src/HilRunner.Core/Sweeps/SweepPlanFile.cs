using HilRunner.Core.Documents;

namespace HilRunner.Core.Sweeps;

/// <summary>Reads sweep plans. Every fault of a file is reported at once; what the keys mean stands in scenarios/README.md.</summary>
public static class SweepPlanFile
{
    /// <exception cref="BadInputException">The file cannot be used; holds every fault, with its place.</exception>
    public static SweepPlan Parse(string text, string path) => DocumentReader.Parse(SweepShape.Shape, text, path);

    /// <exception cref="BadInputException">As for <see cref="Parse"/>, or the file cannot be read.</exception>
    public static SweepPlan Read(string path) => Parse(DocumentReader.ReadText(path), path);
}
