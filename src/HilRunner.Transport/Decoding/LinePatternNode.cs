namespace HilRunner.Transport.Decoding;

/// <summary>A piece of a line pattern, as parsed.</summary>
internal abstract record LinePatternNode
{
    /// <summary>True when it can match no characters at all.</summary>
    public abstract bool CanBeEmpty { get; }

    /// <param name="Set">Bit i set: the ASCII character i is accepted.</param>
    public sealed record Character(UInt128 Set) : LinePatternNode
    {
        public override bool CanBeEmpty => false;
    }

    public sealed record Sequence(IReadOnlyList<LinePatternNode> Items) : LinePatternNode
    {
        public override bool CanBeEmpty => Items.All(item => item.CanBeEmpty);
    }

    public sealed record Alternatives(IReadOnlyList<LinePatternNode> Items) : LinePatternNode
    {
        public override bool CanBeEmpty => Items.Any(item => item.CanBeEmpty);
    }

    /// <param name="Most">−1: no limit.</param>
    public sealed record Repeat(LinePatternNode Item, int Least, int Most, bool Lazy) : LinePatternNode
    {
        public override bool CanBeEmpty => Least == 0 || Item.CanBeEmpty;
    }

    public sealed record NamedGroup(string Name, LinePatternNode Item) : LinePatternNode
    {
        public override bool CanBeEmpty => Item.CanBeEmpty;
    }
}
