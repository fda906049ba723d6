using HilRunner.Core.Documents;
using HilRunner.Core.Signals.Transforms;

namespace HilRunner.Core.Scenarios;

/// <summary>
/// Transforms written as a YAML list, applied in the order of the list: <c>[{rotate: {z: 90 deg}}, {resample: 50 Hz}]</c>. The keys are those
/// beside play in a scenario, with cut: {from, to} and resample: RATE.
/// </summary>
public static class TransformList
{
    /// <param name="text">The YAML.</param>
    /// <param name="place">Where the text came from, for messages: a file, or the option of a command.</param>
    /// <exception cref="BadInputException">The text cannot be used; holds every fault, with its place.</exception>
    public static IReadOnlyList<MotionTransform> Parse(string text, string place) => DocumentReader.Parse(TransformShapes.List, text, place);

    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static IReadOnlyList<MotionTransform> Read(string path) => Parse(DocumentReader.ReadText(path), path);
}
