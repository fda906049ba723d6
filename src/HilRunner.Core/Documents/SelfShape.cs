using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>A titled shape inside itself: a branch of a tree is a tree.</summary>
/// <param name="shape">Asked for when it is needed, since it is still in the making when this is made.</param>
internal sealed class SelfShape<T>(Func<Shape<T>> shape) : Shape<T>
{
    public override string Form => shape().Form;
    public override string Brief => shape().Brief;
    public override string? Title => shape().Title;
    public override IEnumerable<Part> Parts => shape().Parts;
    public override JsonObject Schema(SchemaParts parts) => shape().Schema(parts);
    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out T value) =>
        shape().TryRead(node, reading, out value);
}
